// The set-up: every cutter against the deepest wall it works beside, and the sheet with its hold-down.
#include "viz/draw/cutter_mesh.hpp"
#include "viz/pictures/set.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace snagmap {

namespace {
/// The spindle's nose is cut off above the nut.
double shown_height(const CutterCard& c) {
  return std::min(cutter_height_mm(c), c.stick_out_mm + c.nut_length_mm + 8);
}
} // namespace

Picture tool_picture(PictureSource& source) {
  const Preview& preview = source.preview;
  const Shown& shown = source.shown;
  const Box3& box = preview.scene.sheet;
  Picture out;
  out.name = "tool";
  const std::size_t count = std::min<std::size_t>(preview.scene.cutters.size(), 3);
  // The lowest each cutter works.
  std::vector<double> lowest(preview.scene.cutters.size(), box.high.z);
  for (const Move& move : preview.path.moves)
    if (static_cast<std::size_t>(move.tool) < lowest.size() && move.kind != MoveKind::rapid)
      lowest[static_cast<std::size_t>(move.tool)] =
          std::min({lowest[static_cast<std::size_t>(move.tool)], move.from.z, move.to.z});
  std::string finding = "Drawn to scale against the deepest wall.";
  if (count > 0) {
    const CutterCard& c = preview.scene.cutters.front();
    const double depth = box.high.z - lowest.front();
    finding = fmt::format("Flutes {} long in a cut {} deep: {}.", shown.length(c.flute_length_mm),
                          shown.length(depth),
                          c.flute_length_mm < depth ? "foam above the flutes meets the neck or shank only"
                                                    : "the flutes reach the whole wall");
  }
  Page page = make_page(source.options, "Cutter against the deepest wall", finding,
                        "Side view of each cutter beside the deepest wall it cuts. " + finding);
  const double u = page.u;
  Drawing& d = page.drawing;
  double tall = 10, widest = 10;
  for (std::size_t i = 0; i < count; ++i) {
    const CutterCard& c = preview.scene.cutters[i];
    tall = std::max(tall, shown_height(c));
    widest = std::max({widest, c.nut_diameter_mm, c.diameter_mm, c.shank_diameter_mm});
  }
  const double floor_mm = 8, depth_all = box.high.z - box.low.z;
  const double room = (page.high.x - page.low.x) / static_cast<double>(std::max<std::size_t>(count, 1));
  const double px =
      std::min((page.high.y - page.low.y - 90 * u) / (tall + floor_mm + 4), 0.42 * room / widest);
  for (std::size_t i = 0; i < count; ++i) {
    const CutterCard& c = preview.scene.cutters[i];
    const double depth = std::max(box.high.z - lowest[i], 0.0),
                 axis = page.low.x + room * (static_cast<double>(i) + 0.46);
    const double base = page.high.y - 60 * u - px * floor_mm; // pixels of the tip
    const auto at = [&](double r, double z) { return Vec2{axis + px * r, base - px * z}; };
    const double left = -0.36 * room / px, right = c.diameter_mm / 2 + 0.06 * room / px;
    const double under = -std::min(floor_mm, std::max(depth_all - depth, 0.0));
    d.rectangle(at(left, depth), at(-c.diameter_mm / 2, under), kFoam);
    if (under < 0)
      d.rectangle(at(-c.diameter_mm / 2, 0), at(right, under), kFoam);
    d.line({at(left, depth), at(-c.diameter_mm / 2, depth), at(-c.diameter_mm / 2, 0), at(right, 0)}, kInk,
           2 * u);
    draw_cutter(d, c, shown_height(c), at, 2 * u);
    const double nut_r = std::max(c.nut_diameter_mm, c.shank_diameter_mm) / 2;
    double x1 = axis + px * std::max(nut_r, c.diameter_mm / 2) + 22 * u;
    const auto span = [&](double z0, double z1, const std::string& words) {
      if (z1 - z0 < 1e-6)
        return;
      draw_dimension(page, {x1, at(0, z0).y}, {x1, at(0, z1).y}, words, 12 * u);
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
    const double x2 = axis - px * std::max(nut_r, c.diameter_mm / 2) - 26 * u;
    draw_dimension(page, {x2, at(0, 0).y}, {x2, at(0, c.stick_out_mm).y}, "", -12 * u);
    d.text({x2 - 12 * u, at(0, 0.5 * (depth + c.stick_out_mm)).y},
           "stick-out " + shown.length(c.stick_out_mm), 18 * u, Anchor::end);
    const double x3 = at(left, 0).x + 16 * u;
    draw_dimension(page, {x3, at(0, 0).y}, {x3, at(0, depth).y}, "wall " + shown.length(depth), 12 * u);
    const auto names = wrapped(c.title.empty() ? c.name : c.title, 19 * u, room - 20 * u);
    for (std::size_t k = 0; k < names.size() && k < 2; ++k)
      d.text({axis, page.low.y + (22 + 24.0 * static_cast<double>(k)) * u}, names[k], 19 * u, Anchor::middle,
             kInk, true);
    const double clear = c.stick_out_mm - depth;
    page.heading(fitted(c.name, 20 * u, page.column_width, true));
    page.note(
        fmt::format("{} dia, {} flutes, helix {:g} deg", shown.length(c.diameter_mm), c.flutes, c.helix_deg));
    if (c.nut_length_mm > 0)
      page.note(clear >= 0 ? "collet face stays " + shown.length(clear) + " above the sheet"
                           : "collet face would be " + shown.length(-clear) + " inside the foam",
                clear >= 0 ? kInk : kAlarm, clear < 0);
    else
      page.note("nut not given: not checked");
    page.gap();
  }
  page.swatch(kFlutes, "flutes: the only part that cuts");
  const auto& cutters = preview.scene.cutters;
  if (std::any_of(cutters.begin(), cutters.begin() + static_cast<std::ptrdiff_t>(count),
                  [](const CutterCard& c) { return c.neck_length_mm > 0; }))
    page.swatch(kNeck, "neck: smooth, may only rub");
  page.swatch(kShank, "shank");
  page.swatch(kNut, "nut and spindle nose");
  page.swatch(kFoam, "foam");
  draw_scale_bar(page, {page.low.x, page.high.y - 4 * u}, px, shown);
  out.drawing = std::move(page.drawing);
  return out;
}

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
bool about_the_sheet(const std::string& kind) {
  static constexpr const char* kKinds[] = {"hold-down",         "weak-hold",         "seal-lost",
                                           "clamping-pressure", "loose-piece",       "piece-on-skin",
                                           "floor-cut-through", "skin-left",         "cut-into-table",
                                           "thickness-spread",  "thickness-not-run", "thin-sheet-cut-through",
                                           "zero-contradicts",  "near-seam"};
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
    if (!about_the_sheet(f.kind))
      continue;
    page.gap(8);
    page.note((f.program_line > 0 ? fmt::format("line {}: ", f.program_line) : "") + in_units(f.words, shown),
              f.stops_job ? kAlarm : kInk);
    if (page.column_y > page.high.y - 60 * u)
      break;
  }
  draw_scale_bar(page, {page.low.x, page.high.y - 4 * u}, px, shown);
  out.drawing = std::move(page.drawing);
  return out;
}

} // namespace snagmap
