#include "viz/pictures/side_by_side.hpp"

#include "viz/draw/raster.hpp"
#include "viz/pictures/set.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

/// One sheet, painted, in a rectangle of its own.
Image sheet_image(const Preview& preview, const Box3& view_box, const PictureOptions& options, Vec2 low,
                  Vec2 high) {
  Drawing flat;
  flat.width = static_cast<int>(std::lround(high.x - low.x));
  flat.height = static_cast<int>(std::lround(high.y - low.y));
  flat.background = options.background;
  PictureSource source(preview, options);
  Stage stage(flat.width, flat.height, options.background);
  stage.set(
      fit({-68, 54}, view_box, {0, 0}, {static_cast<double>(flat.width), static_cast<double>(flat.height)}));
  const PaintedMesh skin = snag_painted(source);
  stage.add(skin.mesh, skin.colours);
  Pixels pixels = rasterised(flat, &stage);
  Image image;
  image.corner = low;
  image.width = flat.width;
  image.height = flat.height;
  image.columns = pixels.columns;
  image.rows = pixels.rows;
  image.rgb = std::move(pixels.rgb);
  return image;
}

} // namespace

Drawing side_by_side_picture(const Comparison& comparison, const std::vector<const Preview*>& previews,
                             const PictureOptions& options) {
  const std::size_t count = std::min(previews.size(), kMostPictured);
  const std::string title = "Side by side: " + previews.front()->scene.title;
  const std::string finding =
      comparison.webs.empty()
          ? std::string("No web beside the cutter.")
          : fmt::format("{} webs snag, or may, in some case: compare-webs.csv and webs.svg "
                        "set them side by side.",
                        comparison.webs.size());
  Page page = make_page(options, title, finding,
                        title + ". Each sheet from the same place, webs painted by snag number.");
  const double u = page.u;
  const int columns = count <= 2 ? 1 : 2, rows = static_cast<int>((count + columns - 1) / columns);
  const double wide = (page.high.x - page.low.x) / columns, high = (page.high.y - page.low.y) / rows;
  Box3 box = previews.front()->scene.sheet;
  for (const Preview* preview : previews) { // one view for all: it must hold the largest
    const Box3& own = preview->scene.sheet;
    box.low = {std::min(box.low.x, own.low.x), std::min(box.low.y, own.low.y),
               std::min(box.low.z, own.low.z)};
    box.high = {std::max(box.high.x, own.high.x), std::max(box.high.y, own.high.y),
                std::max(box.high.z, own.high.z)};
  }
  for (std::size_t k = 0; k < count; ++k) {
    const ComparedCase& one = comparison.cases[k];
    const Vec2 corner =
        page.low + Vec2{static_cast<double>(k % columns) * wide, static_cast<double>(k / columns) * high};
    page.drawing.shapes.emplace_back(sheet_image(*previews[k], box, options, corner + Vec2{4 * u, 46 * u},
                                                 corner + Vec2{wide - 8 * u, high - 6 * u}));
    page.drawing.text(corner + Vec2{6 * u, 20 * u},
                      fitted(fmt::format("{}  {}", k + 1, one.name), 20 * u, wide - 16 * u, true), 20 * u,
                      Anchor::start, kInk, true);
    const JobNumbers& n = one.numbers;
    page.drawing.text(
        corner + Vec2{6 * u, 42 * u},
        fitted(fmt::format("worst S {}; {} web{} snag; {}", snag_text(n.worst_s), n.webs_snagging,
                           n.webs_snagging == 1 ? "" : "s", time_text(n.time_s)),
               17 * u, wide - 16 * u),
        17 * u, Anchor::start, n.webs_snagging > 0 ? kAlarm : kInk);
  }
  page.heading("Webs that snag");
  for (std::size_t k = 0; k < count; ++k) {
    const ComparedCase& one = comparison.cases[k];
    page.note(fmt::format("{}  {}", k + 1, one.numbers.webs_snagging),
              one.numbers.webs_snagging > 0 ? kAlarm : kInk, true);
    if (k > 0)
      page.note(fmt::format("{} cleared, {} added", one.cleared, one.added));
    if (k > 0 && one.webs_shared > 0)
      page.note(fmt::format("S {:.2f} times the first", one.over_first));
    page.gap(4);
  }
  page.gap();
  page.colour_bar("Snag number S", 0, 1, cividis, "1 and more: snags or tears");
  if (count < previews.size())
    page.note(fmt::format("{} further cases stand in the table only", previews.size() - count), kPale);
  return std::move(page.drawing);
}

} // namespace snagmap
