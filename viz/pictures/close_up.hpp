// What the two views of one spot share: in space (spot.cpp), and cut through the web (spot_section.cpp).
#pragma once

#include "viz/pictures/set.hpp"

#include <vector>

namespace snagmap {

/// One spot and what its picture is made of.
struct CloseUp {
  PictureSource& source;
  const Spot& spot;
  const CutterCard& cutter;
  BentWeb bent;
  double reach_mm; ///< of the view, along the web to either side
  Page page;
  double middle; ///< pixels: the view in space ends, the section begins
};

/// Runs of slices that touch: over the tip, mm.
std::vector<TouchMark> touching(const Spot& spot);

/// The foam cut through along the spot's normal, within a rectangle of the page: web bent, cutter beside it.
void draw_section(CloseUp& c, Vec2 low, Vec2 high);

} // namespace snagmap
