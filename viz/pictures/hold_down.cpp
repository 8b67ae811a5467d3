// The set-up: the sheet with its hold-down.
#include "viz/pictures/set.hpp"
#include "viz/words/finding_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

namespace snagmap {

namespace {

std::string hold_down_words(const HoldDown& hold) {
  switch (hold.kind) {
  case HoldDownKind::tape:
    return "double-sided tape";
  case HoldDownKind::vacuum:
    return "vacuum";
  case HoldDownKind::none_given:
    break;
  }
  return "hold-down not given: nothing about lifting or sliding was checked";
}

/// Findings that this picture settles; the report holds all.
bool about_the_sheet(FindingKind kind) {
  using K = FindingKind;
  static constexpr K kKinds[] = {K::hold_down,         K::weak_hold,         K::seal_lost,
                                 K::clamping_pressure, K::loose_piece,       K::piece_on_skin,
                                 K::floor_cut_through, K::skin_left,         K::cut_into_table,
                                 K::thickness_spread,  K::thickness_not_run, K::thin_sheet_cut_through,
                                 K::zero_contradicts,  K::near_seam};
  return std::find(std::begin(kKinds), std::end(kKinds), kind) != std::end(kKinds);
}

/// What the program cuts, seen from above with the cutters' radii, and how deep.
struct CutsReach {
  Vec2 low, high;
  double deepest_mm;
};
std::optional<CutsReach> reach_of_cuts(const Scene& scene, const Path& path) {
  std::optional<CutsReach> reach;
  for (const Move& move : path.moves) {
    if (move.kind == MoveKind::rapid || std::min(move.from.z, move.to.z) >= scene.sheet.high.z)
      continue;
    const auto tool = static_cast<std::size_t>(move.tool);
    const double r = tool < scene.cutters.size() ? scene.cutters[tool].diameter_mm / 2 : 0;
    if (!reach)
      reach = CutsReach{xy(move.from), xy(move.from), move.from.z};
    reach->deepest_mm = std::min({reach->deepest_mm, move.from.z, move.to.z});
    for (int k = 0; k <= 8; ++k) {
      const Vec3 p = point_at(move, k / 8.0);
      reach->low = {std::min(reach->low.x, p.x - r), std::min(reach->low.y, p.y - r)};
      reach->high = {std::max(reach->high.x, p.x + r), std::max(reach->high.y, p.y + r)};
    }
  }
  return reach;
}

/// The sheet's place on the page: seen from above, and below that from the side.
struct SheetViews {
  Plot above; ///< in the unit shown
  double unit_mm, px_per_mm;
  double foot, side_px; ///< where the view from above must end; room of the one from the side
  Vec2 operator()(double x_mm, double y_mm) const { return above(x_mm / unit_mm, y_mm / unit_mm); }
};

SheetViews views_of(const Page& page, const Box3& box, double unit_mm) {
  const double side_px = 150 * page.u;
  const Vec2 low = page.low + Vec2{76 * page.u, 30 * page.u},
             high = page.high - Vec2{20 * page.u, side_px + 120 * page.u};
  const Vec3 size = box.high - box.low;
  const double px = std::min((high.x - low.x) / size.x, (high.y - low.y) / size.y);
  Plot plot;
  plot.low = low + 0.5 * Vec2{high.x - low.x - px * size.x, high.y - low.y - px * size.y};
  plot.high = plot.low + px * Vec2{size.x, size.y};
  plot.x0 = box.low.x / unit_mm;
  plot.x1 = box.high.x / unit_mm;
  plot.y0 = box.low.y / unit_mm;
  plot.y1 = box.high.y / unit_mm;
  return {plot, unit_mm, px, high.y, side_px};
}

/// Strips of the given width spread evenly, as many as the share of the area asks for.
void draw_tape(Page& page, const SheetViews& at, const Scene& scene) {
  const Box3& box = scene.sheet;
  const double across = box.high.y - box.low.y;
  const double width = scene.hold_down.tape_width_mm.value_or(across),
               share = std::clamp(scene.hold_down.tape_area_share, 0.0, 1.0);
  const int strips = std::max(1, static_cast<int>(std::lround(share * across / width)));
  for (int k = 0; k < strips; ++k) {
    const double y = box.low.y + across * (k + 0.5) / strips, half = std::min(width, share * across) / 2;
    page.drawing.rectangle(at(box.low.x, y + half), at(box.high.x, y - half), Colour{176, 160, 118, 150});
  }
  page.swatch(Colour{191, 184, 164}, "tape under the sheet, spread evenly");
}

void draw_vacuum(Page& page, const Plot& plot) {
  const double u = page.u;
  for (double x = plot.low.x + 12 * u; x < plot.high.x; x += 26 * u)
    for (double y = plot.low.y + 12 * u; y < plot.high.y; y += 26 * u)
      page.drawing.disc({x, y}, 3 * u, kPale);
  page.swatch(kPale, "vacuum under the sheet");
}

void draw_reach(Page& page, const SheetViews& at, const CutsReach& reach) {
  const Vec2 a = at(reach.low.x, reach.high.y), b = at(reach.high.x, reach.low.y);
  page.drawing.line({a, {b.x, a.y}, b, {a.x, b.y}, a}, kFlutes, 3 * page.u, true);
  page.swatch(kFlutes, "reach of the cuts, cutter's radius included");
}

/// The program's zero, where it lies in sight.
void draw_zero(Page& page, const SheetViews& at) {
  const double u = page.u;
  const Vec2 zero = at(0, 0);
  if (zero.x <= page.low.x || zero.x >= page.high.x || zero.y <= page.low.y || zero.y >= at.foot + 60 * u)
    return;
  page.drawing.line({zero - Vec2{0, 44 * u}, zero, zero + Vec2{44 * u, 0}}, kInk, 4 * u);
  page.drawing.disc(zero, 7 * u, kInk);
  page.drawing.text(zero + Vec2{14 * u, -14 * u}, "X0 Y0", 19 * u, Anchor::start, kInk, true);
}

void draw_from_above(Page& page, const SheetViews& at, const Scene& scene, const Shown& shown,
                     const std::optional<CutsReach>& reach) {
  const Plot& plot = at.above;
  draw_axes(page, plot, fmt::format("X ({})", shown.unit()), fmt::format("Y ({})", shown.unit()));
  page.drawing.rectangle(plot.low, plot.high, kFoam);
  if (scene.hold_down.kind == HoldDownKind::tape)
    draw_tape(page, at, scene);
  if (scene.hold_down.kind == HoldDownKind::vacuum)
    draw_vacuum(page, plot);
  if (reach)
    draw_reach(page, at, *reach);
  page.drawing.frame(plot.low, plot.high, kInk, 2 * page.u);
  draw_zero(page, at);
}

/// At the same scale unless the sheet is too thick for it; layers told apart.
void draw_from_side(Page& page, const SheetViews& at, const Scene& scene, const Shown& shown,
                    const std::optional<CutsReach>& reach) {
  Drawing& d = page.drawing;
  const double u = page.u, tall_mm = scene.sheet.high.z - scene.sheet.low.z;
  const double base = page.high.y - 52 * u, scale = std::min(at.px_per_mm, at.side_px * 0.72 / tall_mm);
  const double left = at.above.low.x, right = at.above.high.x;
  d.rectangle({left - 20 * u, base}, {right + 20 * u, base + 8 * u}, kNut);
  double z = 0;
  for (std::size_t i = 0; i < scene.layers.size(); ++i) {
    const double thick = scene.layers.size() == 1 ? tall_mm : scene.layers[i].thickness_mm;
    d.rectangle({left, base - scale * (z + thick)}, {right, base - scale * z},
                i % 2 ? Colour{186, 193, 202} : kFoam);
    d.text({left + 12 * u, base - scale * (z + thick / 2) + 6 * u},
           fitted(fmt::format("{}, {}", scene.layers[i].foam.name, shown.length(thick)), 18 * u,
                  right - left - 20 * u),
           18 * u);
    z += thick;
  }
  d.frame({left, base - scale * tall_mm}, {right, base}, kInk, 1.5 * u);
  if (reach) {
    const double left_mm = reach->deepest_mm - scene.sheet.low.z, y = base - scale * left_mm;
    d.line({{left, y}, {right, y}}, kFlutes, 2.5 * u, true);
    d.text({right - 10 * u, y - 8 * u}, "deepest cut leaves " + shown.length(left_mm), 18 * u, Anchor::end,
           kInk, true);
  }
  d.text({right, base + 32 * u}, "from the side, on the table", 18 * u, Anchor::end, kPale);
}

void note_sheet(Page& page, const Scene& scene, const Shown& shown) {
  const Vec3 size = scene.sheet.high - scene.sheet.low;
  page.gap();
  page.heading("Sheet");
  page.note(fmt::format("{} x {} x {}", shown.number(size.x), shown.number(size.y), shown.length(size.z)));
  if (!scene.sheet_given)
    page.note("its border is assumed: judged as if the sheet went on");
  page.note(scene.zero_on_table ? "Z0 on the table" : "Z0 on the top of the sheet");
}

void note_hold(Page& page, const Preview& preview, const Shown& shown) {
  const HoldDown& hold = preview.scene.hold_down;
  page.gap();
  page.heading("Hold-down");
  page.note(hold_down_words(hold), kInk, hold.kind == HoldDownKind::none_given);
  if (hold.vacuum_kPa)
    page.note(fmt::format("{:.1f} kPa below the air's pressure", *hold.vacuum_kPa));
  for (const Finding& f : preview.findings) {
    if (!about_the_sheet(f.kind()))
      continue;
    page.gap(8);
    page.note((f.program_line > 0 ? fmt::format("line {}: ", f.program_line) : "") + words_of(f.what, shown),
              f.stops_job ? kAlarm : kInk);
    if (page.column_y > page.high.y - 60 * page.u)
      break;
  }
}

} // namespace

Picture hold_down_picture(PictureSource& source) {
  const Preview& preview = source.preview;
  const Shown& shown = source.shown;
  const Scene& scene = preview.scene;
  const Vec3 size = scene.sheet.high - scene.sheet.low;
  const std::string finding = fmt::format("{} x {} x {}, {}.", shown.number(size.x), shown.number(size.y),
                                          shown.length(size.z), hold_down_words(scene.hold_down));
  Picture out;
  out.name = "hold-down";
  Page page = make_page(source.options, "Sheet and hold-down", finding,
                        "Sheet from above and from the side with its zero and hold-down. " + finding);
  const SheetViews views = views_of(page, scene.sheet, shown.unit_mm());
  const std::optional<CutsReach> reach = reach_of_cuts(scene, preview.path);
  draw_from_above(page, views, scene, shown, reach);
  draw_from_side(page, views, scene, shown, reach);
  note_sheet(page, scene, shown);
  note_hold(page, preview, shown);
  draw_scale_bar(page, {page.low.x, page.high.y - 4 * page.u}, views.px_per_mm, shown);
  out.drawing = std::move(page.drawing);
  return out;
}

} // namespace snagmap
