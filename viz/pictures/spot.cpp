// One spot close up: the bent web beside the cutter in space, the section through both, and what is said of
// it.
#include "viz/pictures/close_up.hpp"
#include "viz/words/space_words.hpp"
#include "viz/words/spot_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

/// Seen from the cutter's side, along the web, from above.
std::unique_ptr<Stage> stage_in_space(CloseUp& c) {
  constexpr double kCells = 60; // of the picture's foam
  const SpotSeen& seen = c.seen;
  const Page& page = c.page;
  const double u = page.u;
  const Projection view = fit({seen.turn_deg, 34}, seen.room, page.low + Vec2{0, 46 * u},
                              {c.middle - 20 * u, page.high.y - 60 * u});
  auto stage = std::make_unique<Stage>(page.drawing.width, page.drawing.height, c.source.options.background);
  stage->set(view);
  Mesh foam = foam_round(seen, kCells);
  const std::vector<Colour> colours = web_colours(seen.spot, foam);
  for (Vec3& p : foam.points)
    p = p + seen.bent(p);
  stage->add(foam, colours);
  const PaintedMesh tool = cutter_mesh(
      seen.cutter, seen.spot.tip_mm,
      std::max(1.6 * seen.spot.question.web.h_mm, seen.cutter.flute_length_mm + 6), touching(seen.spot));
  stage->add(tool.mesh, tool.colours, 0.25);
  for (const std::vector<Vec3>& edge : upright_edges(seen))
    stage->add_line(edge, kInk, 1.5 * u);
  draw_scale_bar(c.page, {page.low.x, page.high.y - 4 * u}, view.px_per_mm, c.source.shown);
  return stage;
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
      source, SpotSeen(preview, spot),
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
                    fitted(lean_words(c.seen.bent.shape_only, c.seen.bent.factor), 17 * u,
                           page.drawing.width - c.middle - 50 * u),
                    17 * u, Anchor::start, c.seen.bent.shape_only ? kAlarm : kInk, true);
  note_judgement(page, spot, band, shown);
  note_cutter(page, spot, c.seen.cutter, shown);
  out.drawing = std::move(page.drawing);
  return out;
}

} // namespace snagmap
