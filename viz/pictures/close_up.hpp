// What the two views of one spot share: in space (spot.cpp), and cut through the web (spot_section.cpp).
#pragma once

#include "viz/pictures/set.hpp"
#include "viz/space/spot_shapes.hpp"

namespace snagmap {

/// One spot and what its picture is made of.
struct CloseUp {
  PictureSource& source;
  SpotSeen seen;
  Page page;
  double middle; ///< pixels: the view in space ends, the section begins
};

/// The foam cut through along the spot's normal, within a rectangle of the page: web bent, cutter beside it.
void draw_section(CloseUp& c, Vec2 low, Vec2 high);

} // namespace snagmap
