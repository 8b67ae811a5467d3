// What every map from above shares: the sheet in grey by depth, axes in work coordinates, the legend's end.
#pragma once

#include "viz/pictures/set.hpp"

#include <string>

namespace snagmap {

struct MapPage {
  Page page;
  Plot plot;
  double px_per_mm = 1, unit_mm = 1; ///< unit: what the axes count in
  Vec2 pixel(Vec2 place_mm) const { return plot(place_mm.x / unit_mm, place_mm.y / unit_mm); }
};
MapPage map_page(PictureSource& source, const std::string& title, const std::string& finding);
/// What the greys mean, and the scale bar.
void finish_map(MapPage& map, const PictureSource& source);

} // namespace snagmap
