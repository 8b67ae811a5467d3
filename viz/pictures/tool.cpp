// The set-up: every cutter against the deepest wall it works beside.
#include "viz/draw/cutter_mesh.hpp"
#include "viz/pictures/set.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

constexpr std::size_t kMostCutters = 3; // side by side

/// The spindle's nose is cut off above the nut.
double shown_height(const CutterCard& c) {
  return std::min(cutter_height_mm(c), c.stick_out_mm + c.nut_length_mm + 8);
}

/// How deep each cutter works below the sheet's top, mm.
std::vector<double> deepest_of(const Preview& preview) {
  const double top = preview.scene.sheet.high.z;
  std::vector<double> depth(preview.scene.cutters.size(), 0);
  for (const Move& move : preview.path.moves)
    if (const auto tool = static_cast<std::size_t>(move.tool);
        tool < depth.size() && move.kind != MoveKind::rapid)
      depth[tool] = std::max({depth[tool], top - move.from.z, top - move.to.z});
  return depth;
}

std::string finding_of_tools(const Preview& preview, const std::vector<double>& depth, const Shown& shown) {
  if (depth.empty())
    return "Drawn to scale against the deepest wall.";
  const CutterCard& c = preview.scene.cutters.front();
  return fmt::format("Flutes {} long in a cut {} deep: {}.", shown.length(c.flute_length_mm),
                     shown.length(depth.front()),
                     c.flute_length_mm < depth.front() ? "foam above the flutes meets the neck or shank only"
                                                       : "the flutes reach the whole wall");
}

/// One cutter's place in the picture.
struct Stand {
  Page& page;
  const Shown& shown;
  double axis_px, base_px, px_per_mm, room_px;

  Vec2 operator()(double r_mm, double z_mm) const {
    return {axis_px + px_per_mm * r_mm, base_px - px_per_mm * z_mm};
  }
};

void draw_beside_wall(const Stand& at, const CutterCard& c, double depth_mm, double under_mm) {
  Drawing& d = at.page.drawing;
  const double u = at.page.u, left = -0.36 * at.room_px / at.px_per_mm,
               right = c.diameter_mm / 2 + 0.06 * at.room_px / at.px_per_mm;
  d.rectangle(at(left, depth_mm), at(-c.diameter_mm / 2, under_mm), kFoam);
  if (under_mm < 0)
    d.rectangle(at(-c.diameter_mm / 2, 0), at(right, under_mm), kFoam);
  d.line({at(left, depth_mm), at(-c.diameter_mm / 2, depth_mm), at(-c.diameter_mm / 2, 0), at(right, 0)},
         kInk, 2 * u);
  draw_cutter(d, c, shown_height(c), at, 2 * u);
  const double x = at(left, 0).x + 16 * u;
  draw_dimension(at.page, {x, at(0, 0).y}, {x, at(0, depth_mm).y}, "wall " + at.shown.length(depth_mm),
                 12 * u);
}

void draw_dimensions(const Stand& at, const CutterCard& c, double depth_mm) {
  const double u = at.page.u;
  const Shown& shown = at.shown;
  const double widest = std::max({c.nut_diameter_mm / 2, c.shank_diameter_mm / 2, c.diameter_mm / 2});
  const double x1 = at.axis_px + at.px_per_mm * widest + 22 * u;
  const auto span = [&](double z0, double z1, const std::string& words) {
    if (z1 - z0 < 1e-6)
      return;
    draw_dimension(at.page, {x1, at(0, z0).y}, {x1, at(0, z1).y}, words, 12 * u);
  };
  const double neck_top = c.flute_length_mm + c.neck_length_mm;
  span(0, c.flute_length_mm, "flutes " + shown.length(c.flute_length_mm));
  if (c.neck_length_mm > 0)
    span(c.flute_length_mm, neck_top, fmt::format("neck {} dia", shown.length(c.neck_diameter_mm)));
  if (c.stick_out_mm > neck_top)
    span(neck_top, c.stick_out_mm, fmt::format("shank {} dia", shown.length(c.shank_diameter_mm)));
  if (c.nut_length_mm > 0)
    span(c.stick_out_mm, c.stick_out_mm + c.nut_length_mm,
         fmt::format("nut {} dia", shown.length(c.nut_diameter_mm)));
  const double x2 = at.axis_px - at.px_per_mm * widest - 26 * u;
  draw_dimension(at.page, {x2, at(0, 0).y}, {x2, at(0, c.stick_out_mm).y}, "", -12 * u);
  at.page.drawing.text({x2 - 12 * u, at(0, 0.5 * (depth_mm + c.stick_out_mm)).y},
                       "stick-out " + shown.length(c.stick_out_mm), 18 * u, Anchor::end);
}

void name_cutter(const Stand& at, const CutterCard& c, double depth_mm) {
  Page& page = at.page;
  const double u = page.u;
  const auto names = wrapped(c.title.empty() ? c.name : c.title, 19 * u, at.room_px - 20 * u);
  for (std::size_t k = 0; k < names.size() && k < 2; ++k)
    page.drawing.text({at.axis_px, page.low.y + (22 + 24.0 * static_cast<double>(k)) * u}, names[k], 19 * u,
                      Anchor::middle, kInk, true);
  const double clear = c.stick_out_mm - depth_mm;
  page.heading(fitted(c.name, 20 * u, page.column_width, true));
  page.note(fmt::format("{} dia, {} flutes, helix {:g} deg", at.shown.length(c.diameter_mm), c.flutes,
                        c.helix_deg));
  if (c.nut_length_mm > 0)
    page.note(clear >= 0 ? "collet face stays " + at.shown.length(clear) + " above the sheet"
                         : "collet face would be " + at.shown.length(-clear) + " inside the foam",
              clear >= 0 ? kInk : kAlarm, clear < 0);
  else
    page.note("nut not given: not checked");
  page.gap();
}

} // namespace

Picture tool_picture(PictureSource& source) {
  const Preview& preview = source.preview;
  const std::vector<double> depth = deepest_of(preview);
  const std::size_t count = std::min(depth.size(), kMostCutters);
  const auto first = preview.scene.cutters.begin(), last = first + static_cast<std::ptrdiff_t>(count);
  const std::string finding = finding_of_tools(preview, depth, source.shown);
  Page page = make_page(source.options, "Cutter against the deepest wall", finding,
                        "Side view of each cutter beside the deepest wall it cuts. " + finding);
  const double u = page.u;
  double tall = 10, widest = 10;
  std::for_each(first, last, [&](const CutterCard& c) {
    tall = std::max(tall, shown_height(c));
    widest = std::max({widest, c.nut_diameter_mm, c.diameter_mm, c.shank_diameter_mm});
  });
  const double floor_mm = 8, thick_mm = preview.scene.sheet.high.z - preview.scene.sheet.low.z;
  const double room = (page.high.x - page.low.x) / static_cast<double>(std::max<std::size_t>(count, 1));
  const double px =
      std::min((page.high.y - page.low.y - 90 * u) / (tall + floor_mm + 4), 0.42 * room / widest);
  for (std::size_t i = 0; i < count; ++i) {
    const CutterCard& c = preview.scene.cutters[i];
    const Stand at{page,
                   source.shown,
                   page.low.x + room * (static_cast<double>(i) + 0.46),
                   page.high.y - 60 * u - px * floor_mm,
                   px,
                   room};
    draw_beside_wall(at, c, depth[i], -std::min(floor_mm, std::max(thick_mm - depth[i], 0.0)));
    draw_dimensions(at, c, depth[i]);
    name_cutter(at, c, depth[i]);
  }
  page.swatch(kFlutes, "flutes: the only part that cuts");
  if (std::any_of(first, last, [](const CutterCard& c) { return c.neck_length_mm > 0; }))
    page.swatch(kNeck, "neck: smooth, may only rub");
  page.swatch(kShank, "shank");
  page.swatch(kNut, "nut and spindle nose");
  page.swatch(kFoam, "foam");
  draw_scale_bar(page, {page.low.x, page.high.y - 4 * u}, px, source.shown);
  Picture out;
  out.name = "tool";
  out.drawing = std::move(page.drawing);
  return out;
}

} // namespace snagmap
