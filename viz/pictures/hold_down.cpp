// The set-up: the sheet with its hold-down.
#include "viz/pictures/set.hpp"
#include "viz/words/finding_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

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

} // namespace

Picture hold_down_picture(PictureSource& source) {
  const Preview& preview = source.preview;
  const Shown& shown = source.shown;
  const Scene& scene = preview.scene;
  const Box3& box = scene.sheet;
  Picture out;
  out.name = "hold-down";
  const std::string words = hold_down_words(scene.hold_down);
  const Vec3 size = box.high - box.low;
  const std::string finding = fmt::format("{} x {} x {}, {}.", shown.number(size.x), shown.number(size.y),
                                          shown.length(size.z), words);
  Page page = make_page(source.options, "Sheet and hold-down", finding,
                        "Sheet from above and from the side with its zero and hold-down. " + finding);
  const double u = page.u;
  Drawing& d = page.drawing;
  const double unit_mm = shown.inch ? 25.4 : 1;
  Vec2 reach_low{1e9, 1e9}, reach_high{-1e9, -1e9};
  double deepest = box.high.z;
  for (const Move& move : preview.path.moves) {
    if (move.kind == MoveKind::rapid || std::min(move.from.z, move.to.z) >= box.high.z)
      continue;
    deepest = std::min({deepest, move.from.z, move.to.z});
    const double r = static_cast<std::size_t>(move.tool) < scene.cutters.size()
                         ? scene.cutters[static_cast<std::size_t>(move.tool)].diameter_mm / 2
                         : 0;
    for (int k = 0; k <= 8; ++k) {
      const Vec3 p = point_at(move, k / 8.0);
      reach_low = {std::min(reach_low.x, p.x - r), std::min(reach_low.y, p.y - r)};
      reach_high = {std::max(reach_high.x, p.x + r), std::max(reach_high.y, p.y + r)};
    }
  }
  Plot plot;
  const double side_px = 150 * u;
  const Vec2 low = page.low + Vec2{76 * u, 30 * u}, high = page.high - Vec2{20 * u, side_px + 120 * u};
  const double px = std::min((high.x - low.x) / size.x, (high.y - low.y) / size.y);
  plot.low = low + 0.5 * Vec2{high.x - low.x - px * size.x, high.y - low.y - px * size.y};
  plot.high = plot.low + px * Vec2{size.x, size.y};
  plot.x0 = box.low.x / unit_mm;
  plot.x1 = box.high.x / unit_mm;
  plot.y0 = box.low.y / unit_mm;
  plot.y1 = box.high.y / unit_mm;
  draw_axes(page, plot, fmt::format("X ({})", shown.unit()), fmt::format("Y ({})", shown.unit()));
  const auto at = [&](double x, double y) { return plot(x / unit_mm, y / unit_mm); };
  d.rectangle(plot.low, plot.high, kFoam);
  if (scene.hold_down.kind == HoldDownKind::tape) {
    // Strips of the given width spread evenly, as many as the share of the area asks for.
    const double width = scene.hold_down.tape_width_mm.value_or(size.y),
                 share = std::clamp(scene.hold_down.tape_area_share, 0.0, 1.0);
    const int strips = std::max(1, static_cast<int>(std::lround(share * size.y / width)));
    for (int k = 0; k < strips; ++k) {
      const double y = box.low.y + size.y * (k + 0.5) / strips, half = std::min(width, share * size.y) / 2;
      d.rectangle(at(box.low.x, y + half), at(box.high.x, y - half), Colour{176, 160, 118, 150});
    }
    page.swatch(Colour{191, 184, 164}, "tape under the sheet, spread evenly");
  } else if (scene.hold_down.kind == HoldDownKind::vacuum) {
    for (double x = plot.low.x + 12 * u; x < plot.high.x; x += 26 * u)
      for (double y = plot.low.y + 12 * u; y < plot.high.y; y += 26 * u)
        d.disc({x, y}, 3 * u, kPale);
    page.swatch(kPale, "vacuum under the sheet");
  }
  if (reach_low.x < reach_high.x) {
    const Vec2 a = at(reach_low.x, reach_high.y), b = at(reach_high.x, reach_low.y);
    d.line({a, {b.x, a.y}, b, {a.x, b.y}, a}, kFlutes, 3 * u, true);
    page.swatch(kFlutes, "reach of the cuts, cutter's radius included");
  }
  d.frame(plot.low, plot.high, kInk, 2 * u);
  const Vec2 zero = at(0, 0);
  const bool in_sight =
      zero.x > page.low.x && zero.x < page.high.x && zero.y > page.low.y && zero.y < high.y + 60 * u;
  if (in_sight) {
    d.line({zero - Vec2{0, 44 * u}, zero, zero + Vec2{44 * u, 0}}, kInk, 4 * u);
    d.disc(zero, 7 * u, kInk);
    d.text(zero + Vec2{14 * u, -14 * u}, "X0 Y0", 19 * u, Anchor::start, kInk, true);
  }
  // From the side, at the same scale, layers told apart.
  const double base = page.high.y - 52 * u, scale = std::min(px, side_px * 0.72 / size.z);
  const double left = plot.low.x, right = plot.high.x;
  d.rectangle({left - 20 * u, base}, {right + 20 * u, base + 8 * u}, kNut);
  double z = 0;
  for (std::size_t i = 0; i < scene.layers.size(); ++i) {
    const double thick = scene.layers.size() == 1 ? size.z : scene.layers[i].thickness_mm;
    d.rectangle({left, base - scale * (z + thick)}, {right, base - scale * z},
                i % 2 ? Colour{186, 193, 202} : kFoam);
    d.text({left + 12 * u, base - scale * (z + thick / 2) + 6 * u},
           fitted(fmt::format("{}, {}", scene.layers[i].foam.name, shown.length(thick)), 18 * u,
                  right - left - 20 * u),
           18 * u);
    z += thick;
  }
  d.frame({left, base - scale * size.z}, {right, base}, kInk, 1.5 * u);
  if (deepest < box.high.z) {
    const double y = base - scale * (deepest - box.low.z);
    d.line({{left, y}, {right, y}}, kFlutes, 2.5 * u, true);
    d.text({right - 10 * u, y - 8 * u}, "deepest cut leaves " + shown.length(deepest - box.low.z), 18 * u,
           Anchor::end, kInk, true);
  }
  d.text({right, base + 32 * u}, "from the side, on the table", 18 * u, Anchor::end, kPale);
  page.gap();
  page.heading("Sheet");
  page.note(fmt::format("{} x {} x {}", shown.number(size.x), shown.number(size.y), shown.length(size.z)));
  if (!scene.sheet_given)
    page.note("its border is assumed: judged as if the sheet went on");
  page.note(scene.zero_on_table ? "Z0 on the table" : "Z0 on the top of the sheet");
  page.gap();
  page.heading("Hold-down");
  page.note(words, kInk, scene.hold_down.kind == HoldDownKind::none_given);
  if (scene.hold_down.vacuum_kPa)
    page.note(fmt::format("{:.1f} kPa below the air's pressure", *scene.hold_down.vacuum_kPa));
  for (const Finding& f : preview.findings) {
    if (!about_the_sheet(f.kind()))
      continue;
    page.gap(8);
    page.note((f.program_line > 0 ? fmt::format("line {}: ", f.program_line) : "") + words_of(f.what, shown),
              f.stops_job ? kAlarm : kInk);
    if (page.column_y > page.high.y - 60 * u)
      break;
  }
  draw_scale_bar(page, {page.low.x, page.high.y - 4 * u}, px, shown);
  out.drawing = std::move(page.drawing);
  return out;
}

} // namespace snagmap
