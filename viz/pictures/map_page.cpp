#include "viz/pictures/map_page.hpp"

#include "viz/draw/raster.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

/// The skin seen from straight above, flat grey by depth: true outlines, no voxel steps.
Image depth_image(PictureSource& source, Vec2 corner, Vec2 size) {
  const Box3& box = source.preview.scene.sheet;
  Drawing blank;
  blank.width = std::max(2, static_cast<int>(std::lround(size.x)));
  blank.height = std::max(2, static_cast<int>(std::lround(size.y)));
  Stage stage(blank.width, blank.height, {93, 95, 96});
  stage.set(
      fit({-90, 90}, box, {0, 0}, {static_cast<double>(blank.width), static_cast<double>(blank.height)}));
  const Mesh& skin = source.skin();
  std::vector<Colour> colours;
  colours.reserve(skin.triangles.size());
  const double tall = std::max(box.high.z - box.low.z, 1e-9);
  for (const Triangle& t : skin.triangles) {
    const double z = (skin.points[t[0]].z + skin.points[t[1]].z + skin.points[t[2]].z) / 3;
    const auto grey = static_cast<std::uint8_t>(150 + 90 * std::clamp((z - box.low.z) / tall, 0.0, 1.0));
    colours.push_back(
        {static_cast<std::uint8_t>(0.97 * grey), static_cast<std::uint8_t>(0.985 * grey), grey});
  }
  stage.add_unlit(skin, colours);
  Pixels pixels = rasterised(blank, &stage);
  return {corner, size.x, size.y, pixels.columns, pixels.rows, std::move(pixels.rgb)};
}

} // namespace

MapPage map_page(PictureSource& source, const std::string& title, const std::string& finding) {
  MapPage map;
  map.page = make_page(source.options, title, finding, title + ". " + finding);
  map.unit_mm = source.shown.unit_mm();
  const double u = map.page.u;
  const Box3& box = source.preview.scene.sheet;
  const double wide = box.high.x - box.low.x, tall = box.high.y - box.low.y;
  const Vec2 low = map.page.low + Vec2{76 * u, 8 * u}, high = map.page.high - Vec2{10 * u, 104 * u};
  map.px_per_mm = std::min((high.x - low.x) / wide, (high.y - low.y) / tall);
  const Vec2 size{map.px_per_mm * wide, map.px_per_mm * tall}, shift = 0.5 * (high - low - size);
  map.plot.low = low + shift;
  map.plot.high = map.plot.low + size;
  map.plot.x0 = box.low.x / map.unit_mm;
  map.plot.x1 = box.high.x / map.unit_mm;
  map.plot.y0 = box.low.y / map.unit_mm;
  map.plot.y1 = box.high.y / map.unit_mm;
  const std::string unit = source.shown.unit();
  draw_axes(map.page, map.plot, fmt::format("X ({})", unit), fmt::format("Y ({})", unit));
  map.page.drawing.shapes.emplace_back(std::in_place_type<Image>, depth_image(source, map.plot.low, size));
  return map;
}

void finish_map(MapPage& map, const PictureSource& source) {
  Page& page = map.page;
  page.gap(6);
  page.swatch({233, 236, 240}, "top of the sheet");
  page.swatch({160, 163, 166}, "pockets, darker with depth");
  page.swatch({93, 95, 96}, "cut through");
  draw_scale_bar(page, {page.low.x, page.high.y - 4 * page.u}, map.px_per_mm, source.shown);
}

} // namespace snagmap
