// One spot close up: the bent web beside the cutter in space, the section through both, and what is said of
// it.
#include "viz/draw/cutter_mesh.hpp"
#include "viz/pictures/close_up.hpp"
#include "viz/words/spot_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

/// A place `into_mm` behind the wall and `along_mm` beside the spot, seen from above.
Vec2 beside(const Spot& spot, double into_mm, double along_mm) {
  return xy(spot.place_mm) - into_mm * spot.normal + along_mm * left_of(spot.normal);
}

/// Room behind the web and beside it; on the cutter's side foam ends with the cutter, so that no wall hides
/// it.
Box3 room_round(const CloseUp& c) {
  const Web& web = c.spot.question.web;
  const double behind = web.w_mm + 0.5 * c.reach_mm, before = -c.cutter.diameter_mm - 1;
  const Vec2 corners[] = {beside(c.spot, behind, -c.reach_mm), beside(c.spot, behind, c.reach_mm),
                          beside(c.spot, before, -c.reach_mm), beside(c.spot, before, c.reach_mm)};
  Vec2 low = corners[0], high = corners[0];
  for (const Vec2 p : corners) {
    low = {std::min(low.x, p.x), std::min(low.y, p.y)};
    high = {std::max(high.x, p.x), std::max(high.y, p.y)};
  }
  const double root = c.spot.place_mm.z;
  return {{low.x, low.y, root - 3}, {high.x, high.y, root + 1.6 * web.h_mm}};
}

/// The sheet round the spot at its moment, cut short of the kerf's far wall: past it a film would be left.
Mesh foam_round(const CloseUp& c, const Box3& room) {
  const Preview& preview = c.source.preview;
  SkinOptions fine;
  fine.cell_mm = std::max(preview.record->voxel_mm(), c.reach_mm / 60);
  fine.tallest_mm = std::max(c.spot.question.web.h_mm / 12, fine.cell_mm);
  fine.window = room;
  fine.cut =
      SkinOptions::Cut{c.spot.normal, dot(xy(c.spot.tip_mm), c.spot.normal) + 0.45 * c.cutter.diameter_mm};
  return Skin(preview, fine).whole(std::min<Moment>(c.spot.move + 1, preview.record->end()));
}

/// The web in the colour of its S, all other foam grey.
std::vector<Colour> web_colours(const Spot& spot, const Mesh& foam) {
  const SnagQuestion& q = spot.question;
  const double half_width = q.web.b_p_mm + 0.99 * q.web.h_mm, clinging = clinging_mm(q.web);
  std::vector<Colour> colours;
  for (const Triangle& tri : foam.triangles) {
    const Vec3 c = (1.0 / 3) * (foam.points[tri[0]] + foam.points[tri[1]] + foam.points[tri[2]]);
    const Vec2 d = xy(c) - xy(spot.place_mm);
    const double into = -dot(d, spot.normal), along = cross(spot.normal, d), over = c.z - spot.place_mm.z;
    const bool web =
        into > -clinging && into < q.web.w_mm + clinging && over > 0.02 && over < q.web.h_mm + 0.1 &&
        along < std::min(half_width, q.web.d1_mm + (q.web.end1 == WebEnd::free ? clinging : 0)) &&
        -along < std::min(half_width, q.web.d2_mm + (q.web.end2 == WebEnd::free ? clinging : 0));
    colours.push_back(web ? snag_colour(spot.s()) : kFoam);
  }
  return colours;
}

/// An upper edge of the web before it leaned, so far behind the wall.
std::vector<Vec3> upright_edge(const CloseUp& c, double into_mm) {
  const Web& web = c.spot.question.web;
  std::vector<Vec3> line;
  for (int k = -10; k <= 10; ++k) {
    const double a = c.reach_mm * 0.8 * k / 10;
    if (a > web.d1_mm || -a > web.d2_mm)
      continue;
    const Vec2 p = beside(c.spot, into_mm, a);
    line.push_back({p.x, p.y, c.spot.place_mm.z + web.h_mm + 0.05});
  }
  return line;
}

/// Seen from the cutter's side, along the web, from above.
std::unique_ptr<Stage> stage_in_space(CloseUp& c) {
  const Spot& spot = c.spot;
  const Web& web = spot.question.web;
  const Page& page = c.page;
  const double u = page.u, side_deg = std::atan2(spot.normal.y, spot.normal.x) * 180 / M_PI;
  const Box3 room = room_round(c);
  const Projection view =
      fit({side_deg + 58, 34}, room, page.low + Vec2{0, 46 * u}, {c.middle - 20 * u, page.high.y - 60 * u});
  auto stage = std::make_unique<Stage>(page.drawing.width, page.drawing.height, c.source.options.background);
  stage->set(view);
  Mesh foam = foam_round(c, room);
  const std::vector<Colour> colours = web_colours(spot, foam);
  for (Vec3& p : foam.points)
    p = p + c.bent(p);
  stage->add(foam, colours);
  const PaintedMesh tool = cutter_mesh(
      c.cutter, spot.tip_mm, std::max(1.6 * web.h_mm, c.cutter.flute_length_mm + 6), touching(spot));
  stage->add(tool.mesh, tool.colours, 0.25);
  if (web.length_mm() > 1.5 * web.w_mm) {
    stage->add_line(upright_edge(c, 0), kInk, 1.5 * u);
    stage->add_line(upright_edge(c, web.w_mm), kInk, 1.5 * u);
  }
  draw_scale_bar(c.page, {page.low.x, page.high.y - 4 * u}, view.px_per_mm, c.source.shown);
  return stage;
}

std::string lean_words(const BentWeb& bent) {
  if (bent.shape_only)
    return "Shape only: past S = 1 the lean grows until something gives, so its size means nothing.";
  if (bent.factor == 1)
    return "Lean drawn at its true size.";
  return fmt::format("Lean drawn {} times as large as computed.", tick_text(bent.factor, 1));
}

void note_judgement(Page& page, const Spot& spot, const SnagBand& band, const Shown& shown) {
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
}

void note_cutter(Page& page, const Spot& spot, const CutterCard& cutter, const Shown& shown) {
  page.heading("Cutter");
  page.note(cutter.title.empty() ? cutter.name : cutter.title);
  page.note(fmt::format("real feed {}, {} side", shown.feed(spot.feed_mm_min),
                        spot.question.climb ? "climb" : "conventional"));
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
}

} // namespace

Picture spot_picture(PictureSource& source, const Spot& spot) {
  const Preview& preview = source.preview;
  const Shown& shown = source.shown;
  const SnagBand band = band_of(spot);
  const Web& web = spot.question.web;
  const std::string title = fmt::format("Web {} {} (program line {}, {})", spot.web, to_text(spot.level()),
                                        spot.program_line, time_text(spot.time_s));
  const std::string finding =
      fmt::format("Snag number {}: web {} thick and {} tall, flutes reach {} up it.", band.text(),
                  shown.length(web.w_mm), shown.length(web.h_mm), shown.length(spot.a_mm));
  CloseUp c{
      source,
      spot,
      preview.scene.cutters[static_cast<std::size_t>(spot.cutter)],
      BentWeb(spot, preview),
      std::max(1.1 * web.h_mm, 18.0),
      make_page(source.options, title, finding, "The web beside the cutter in its bent shape. " + finding),
      0};
  Page& page = c.page;
  const double u = page.u;
  c.middle = page.low.x + 0.56 * (page.high.x - page.low.x);

  Picture out;
  out.name = fmt::format("web-{}", spot.web);
  out.stage = stage_in_space(c);
  page.drawing.text({page.low.x, page.low.y + 24 * u}, "In space, seen from the cutter's side", 20 * u,
                    Anchor::start, kInk, true);
  page.drawing.text({c.middle + 10 * u, page.low.y + 24 * u}, "Cut through the web", 20 * u, Anchor::start,
                    kInk, true);
  draw_section(c, {c.middle + 80 * u, page.low.y + 70 * u}, {page.high.x - 120 * u, page.high.y - 120 * u});
  page.drawing.text({c.middle + 10 * u, page.high.y - 26 * u},
                    fitted(lean_words(c.bent), 17 * u, page.drawing.width - c.middle - 50 * u), 17 * u,
                    Anchor::start, c.bent.shape_only ? kAlarm : kInk, true);
  note_judgement(page, spot, band, shown);
  note_cutter(page, spot, c.cutter, shown);
  out.drawing = std::move(page.drawing);
  return out;
}

} // namespace snagmap
