// One spot close up: the bent web beside the cutter in space, and the section through both.
#include "viz/draw/cutter_mesh.hpp"
#include "viz/pictures/set.hpp"
#include "viz/words/spot_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

/// Runs of slices that touch: over the tip, mm.
std::vector<TouchMark> touching(const Spot& spot) {
  std::vector<TouchMark> marks;
  const Contact& contact = spot.question.contact;
  const double step = (contact.high_mm - contact.low_mm) / kSlices, tip = spot.tip_mm.z - spot.place_mm.z;
  for (std::size_t i = 0; i < kSlices; ++i) {
    // At or past the edge every slice within reach takes part; below it, those the lean closes.
    const bool touches = spot.s() >= 1 || spot.question.gap_mm[i] <= std::max(0.0, spot.answer.lean_mm);
    if (!touches)
      continue;
    const double low = contact.low_mm + step * static_cast<double>(i) - tip;
    if (!marks.empty() && std::abs(marks.back().high_mm - low) < 1e-6)
      marks.back().high_mm = low + step;
    else
      marks.push_back({low, low + step, -1.0 * spot.normal});
  }
  return marks;
}

struct Section {
  Vec2 origin; ///< pixels of the root of the wall
  double px_per_mm = 1;
  Vec2 operator()(double across_mm, double over_root_mm) const {
    return {origin.x + px_per_mm * across_mm, origin.y - px_per_mm * over_root_mm};
  }
};

/// Foam cut through along the spot's normal, web bent, cutter beside it.
void draw_section(PictureSource& source, Page& page, const Spot& spot, const CutterCard& cutter,
                  const BentWeb& bent, Vec2 low, Vec2 high) {
  const Preview& preview = source.preview;
  Drawing& d = page.drawing;
  const double u = page.u, w = spot.question.web.w_mm, h = spot.question.web.h_mm, r = cutter.diameter_mm / 2;
  const double left = -w - std::max(10.0, 0.5 * h), right = 2 * r + std::max(4.0, 0.2 * h);
  const double below = std::max(6.0, 0.3 * h), above = 0.45 * h + 6;
  Section at;
  at.px_per_mm = std::min((high.x - low.x) / (right - left), (high.y - low.y) / (h + below + above));
  at.origin = {0.5 * (low.x + high.x) - at.px_per_mm * 0.5 * (left + right),
               0.5 * (low.y + high.y) + at.px_per_mm * 0.5 * (h + above - below)};
  const RemovalRecord& record = *preview.record;
  const Moment t = std::min<Moment>(spot.move + 1, record.end());
  const double root = spot.place_mm.z;
  // Foam in strips two pixels wide; the web itself is drawn after, bent.
  const double strip = 2 * u / at.px_per_mm;
  for (double across = left; across < right; across += strip) {
    const Vec2 p = xy(spot.place_mm) + (across + strip / 2) * spot.normal;
    const bool in_web = across + strip / 2 > -w && across + strip / 2 < 0;
    for (const Slab& slab : record.column(p, t)) {
      const double bottom = std::max(slab.low_mm - root, -below);
      double top = std::min(slab.high_mm - root, h + above);
      if (in_web)
        top = std::min(top, 0.0);
      if (top > bottom)
        d.rectangle(at(across, top), at(across + strip + 0.6 / at.px_per_mm, bottom), kFoam);
    }
  }
  // Cutter first, so that the web, drawn over it, shows how far it is pulled in.
  const double axis = dot(xy(spot.tip_mm) - xy(spot.place_mm), spot.normal), tip = spot.tip_mm.z - root;
  draw_cutter(
      d, cutter, h + above - tip, [&](double radius, double z) { return at(axis + radius, tip + z); }, 2 * u);
  Band web;
  web.fill = snag_colour(spot.s());
  web.fill.a = 215;
  std::vector<Vec2> wall, back;
  for (int k = 0; k <= 24; ++k) {
    const double z = h * k / 24, lean = bent.at_height(z);
    back.push_back(at(-w + lean, z));
    wall.push_back(at(lean, z));
  }
  web.low = back;
  web.high = wall;
  d.shapes.emplace_back(std::in_place_type<Band>, web);
  d.line({at(-w, 0), at(-w, h), at(0, h), at(0, 0)}, kInk, 1.5 * u, true);
  d.line(back, kInk, 1.5 * u);
  d.line(wall, kInk, 2 * u);
  for (const TouchMark& mark : touching(spot)) {
    const double reach = radius_at(cutter, 0.5 * (mark.low_mm + mark.high_mm));
    d.line({at(axis - reach, tip + mark.low_mm), at(axis - reach, tip + mark.high_mm)}, kAlarm, 6 * u);
  }
  draw_dimension(page, at(-w, h) - Vec2{0, 16 * u}, at(0, h) - Vec2{0, 16 * u}, "", 0);
  d.text(at(0, h) - Vec2{4 * u, 28 * u}, "w " + source.shown.length(w), 18 * u,
         Anchor::end); // ends at the wall: beyond it stands the cutter
  draw_dimension(page, at(-w, 0) - Vec2{22 * u, 0}, at(-w, h) - Vec2{22 * u, 0},
                 "h " + source.shown.length(h), -10 * u);
  const double reach_right = axis + r + 14 * u / at.px_per_mm;
  draw_dimension(page, at(reach_right, spot.question.contact.low_mm),
                 at(reach_right, spot.question.contact.high_mm), "flutes " + source.shown.length(spot.a_mm),
                 10 * u);
  draw_scale_bar(page, {low.x, at.origin.y + at.px_per_mm * below + 30 * u}, at.px_per_mm, source.shown);
}

} // namespace

Picture spot_picture(PictureSource& source, const Spot& spot, int rank) {
  const Preview& preview = source.preview;
  const Shown& shown = source.shown;
  Picture out;
  out.name = fmt::format("spot-{}", rank);
  const SnagQuestion& q = spot.question;
  const SnagBand band = band_of(spot);
  const std::string title = fmt::format("Spot {}: the web {} (program line {}, {})", rank,
                                        to_text(spot.level()), spot.program_line, time_text(spot.time_s));
  const std::string finding =
      fmt::format("Snag number {}: web {} thick and {} tall, flutes reach {} up it.", band.text(),
                  shown.length(q.web.w_mm), shown.length(q.web.h_mm), shown.length(spot.a_mm));
  Page page =
      make_page(source.options, title, finding, "The web beside the cutter in its bent shape. " + finding);
  const double u = page.u;
  const CutterCard& cutter = preview.scene.cutters[static_cast<std::size_t>(spot.cutter)];
  const BentWeb bent(spot, preview);

  const double middle = page.low.x + 0.56 * (page.high.x - page.low.x);
  const double reach = std::max(1.1 * q.web.h_mm, 18.0);
  const Vec2 n = spot.normal, along = left_of(n);
  // Room behind the web and beside it; on the cutter's side foam ends with the cutter, so that no wall hides
  // it.
  Box3 around{{1e9, 1e9, spot.place_mm.z - 3}, {-1e9, -1e9, spot.place_mm.z + 1.6 * q.web.h_mm}};
  for (const double into : {q.web.w_mm + 0.5 * reach, -cutter.diameter_mm - 1})
    for (const double a : {-reach, reach}) {
      const Vec2 p = xy(spot.place_mm) - into * n + a * along;
      around.low = {std::min(around.low.x, p.x), std::min(around.low.y, p.y), around.low.z};
      around.high = {std::max(around.high.x, p.x), std::max(around.high.y, p.y), around.high.z};
    }
  // Seen from the cutter's side, along the web, from above.
  const double side = std::atan2(n.y, n.x) * 180 / M_PI;
  const Projection view =
      fit({side + 58, 34}, around, page.low + Vec2{0, 46 * u}, {middle - 20 * u, page.high.y - 60 * u});
  out.stage = std::make_unique<Stage>(page.drawing.width, page.drawing.height, source.options.background);
  out.stage->set(view);
  SkinOptions fine;
  fine.cell_mm = std::max(preview.record->voxel_mm(), reach / 60);
  fine.tallest_mm = std::max(q.web.h_mm / 12, fine.cell_mm);
  fine.window = around;
  fine.cut = SkinOptions::Cut{
      n, dot(xy(spot.tip_mm), n) +
             0.45 * cutter.diameter_mm}; // short of the kerf's far wall: past it a film would be left
  const Mesh kept = Skin(preview, fine).whole(std::min<Moment>(spot.move + 1, preview.record->end()));
  std::vector<Colour> colours;
  const double half_width = q.web.b_p_mm + 0.99 * q.web.h_mm;
  const double clinging = clinging_mm(q.web);
  for (const Triangle& tri : kept.triangles) {
    const Vec3 c = (1.0 / 3) * (kept.points[tri[0]] + kept.points[tri[1]] + kept.points[tri[2]]);
    const Vec2 d = xy(c) - xy(spot.place_mm);
    const double into = -dot(d, n), over = c.z - spot.place_mm.z;
    const bool web =
        into > -clinging && into < q.web.w_mm + clinging && over > 0.02 && over < q.web.h_mm + 0.1 &&
        cross(n, d) < std::min(half_width, q.web.d1_mm + (q.web.end1 == WebEnd::free ? clinging : 0)) &&
        -cross(n, d) < std::min(half_width, q.web.d2_mm + (q.web.end2 == WebEnd::free ? clinging : 0));
    colours.push_back(web ? snag_colour(spot.s()) : kFoam);
  }
  Mesh leaned = kept;
  for (Vec3& p : leaned.points)
    p = p + bent(p);
  out.stage->add(leaned, colours);
  const PaintedMesh tool = cutter_mesh(
      cutter, spot.tip_mm, std::max(1.6 * q.web.h_mm, cutter.flute_length_mm + 6), touching(spot));
  out.stage->add(tool.mesh, tool.colours, 0.25);
  // Where the web stood before it leaned.
  const auto edge = [&](double into) {
    std::vector<Vec3> line;
    for (int k = -10; k <= 10; ++k) {
      const double a = reach * 0.8 * k / 10;
      if (a > q.web.d1_mm || -a > q.web.d2_mm)
        continue;
      const Vec2 p = xy(spot.place_mm) - into * n + a * along;
      line.push_back({p.x, p.y, spot.place_mm.z + q.web.h_mm + 0.05});
    }
    return line;
  };
  if (q.web.length_mm() > 1.5 * q.web.w_mm) {
    out.stage->add_line(edge(0), kInk, 1.5 * u);
    out.stage->add_line(edge(q.web.w_mm), kInk, 1.5 * u);
  }
  draw_scale_bar(page, {page.low.x, page.high.y - 4 * u}, view.px_per_mm, shown);
  page.drawing.text({page.low.x, page.low.y + 24 * u}, "In space, seen from the cutter's side", 20 * u,
                    Anchor::start, kInk, true);
  page.drawing.text({middle + 10 * u, page.low.y + 24 * u}, "Cut through the web", 20 * u, Anchor::start,
                    kInk, true);
  draw_section(source, page, spot, cutter, bent, {middle + 80 * u, page.low.y + 70 * u},
               {page.high.x - 120 * u, page.high.y - 120 * u});
  const std::string how =
      bent.shape_only
          ? "Shape only: past S = 1 the lean grows until something gives, so its size means nothing."
      : bent.factor == 1
          ? std::string("Lean drawn at its true size.")
          : fmt::format("Lean drawn {} times as large as computed.", tick_text(bent.factor, 1));
  page.drawing.text({middle + 10 * u, page.high.y - 26 * u},
                    fitted(how, 17 * u, page.drawing.width - middle - 50 * u), 17 * u, Anchor::start,
                    bent.shape_only ? kAlarm : kInk, true);

  page.heading(fmt::format("S {}: {}", snag_text(spot.s()), to_text(spot.level())));
  page.note(band.words() + (band.solid ? ", finite elements" : ", formula"));
  if (spot.open())
    page.note("open: the band crosses 1", kInk, true);
  page.note("already touching: S " + snag_text(spot.answer.s_touch));
  if (spot.answer.has_lean)
    page.note("lean " + shown.length(spot.answer.lean_mm) + " toward the cutter (mean over the pass)");
  page.gap();
  page.heading("Why");
  for (const Reason& reason : spot.reasons)
    page.note("- " + words_of(reason, shown));
  page.gap();
  page.heading("Cutter");
  page.note(cutter.title.empty() ? cutter.name : cutter.title);
  page.note(
      fmt::format("real feed {}, {} side", shown.feed(spot.feed_mm_min), q.climb ? "climb" : "conventional"));
  page.gap();
  // From S = 1 on web and flutes share the alarm colour, so they share its swatch.
  page.swatch(snag_colour(spot.s()), spot.s() >= 1 ? "bent web, flutes in it" : "web, bent");
  page.swatch(kFlutes, "flutes");
  if (spot.s() < 1)
    page.swatch(kAlarm, "flutes that touch");
  if (cutter.neck_length_mm > 0)
    page.swatch(kNeck, "neck");
  page.swatch(kShank, "shank");
  page.note("dashed: the web before it leans", kPale);
  out.drawing = std::move(page.drawing);
  return out;
}

} // namespace snagmap
