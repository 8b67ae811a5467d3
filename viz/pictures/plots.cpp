// Plots: snag number and lean along the path, and the narrowest web that holds.
#include "sim/checks/job_checks.hpp"
#include "viz/pictures/set.hpp"
#include "viz/words/spot_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace snagmap {

namespace {

struct RiskRow {
  RiskKind kind;
  const char* words;
};
constexpr RiskRow kRiskRows[] = {{RiskKind::strand, "strands"},
                                 {RiskKind::loose_piece, "loose"},
                                 {RiskKind::weak_hold, "hold"},
                                 {RiskKind::rubbing, "rubs"}};
constexpr double kRow_px = 18;

bool has_stops(const Preview& preview) {
  return preview.checks && !preview.checks->timeline.stops.empty();
}

/// The rows of what happens besides, one tick an event; those that never happen are left out.
std::vector<RiskRow> rows_of(const Preview& preview) {
  std::vector<RiskRow> rows;
  if (preview.checks)
    for (const RiskRow& row : kRiskRows)
      if (std::any_of(preview.checks->timeline.events.begin(), preview.checks->timeline.events.end(),
                      [&](const RiskEvent& e) { return e.kind == row.kind; }))
        rows.push_back(row);
  return rows;
}

} // namespace

Picture timeline_picture(PictureSource& source) {
  const Preview& preview = source.preview;
  const Shown& shown = source.shown;
  Picture out;
  out.name = "timeline";
  Page page =
      make_page(source.options, "Snag number and lean along the program", finding_of(preview),
                "Two plots against program time: snag number above, lean below. " + finding_of(preview));
  const double u = page.u, total = std::max(preview.motion.total_s(), 1e-3);
  const bool minutes = total > 180;
  const double clock = minutes ? 60 : 1;
  Drawing& d = page.drawing;
  double s_most = 1.2, lean_low = 0, lean_high = 0.1;
  const double unit_mm = shown.inch ? 25.4 : 1;
  for (const PathSample& s : preview.samples) {
    s_most = std::max(s_most, static_cast<double>(s.s));
    lean_low = std::min(lean_low, s.lean_mm / unit_mm);
    lean_high = std::max(lean_high, s.lean_mm / unit_mm);
  }
  for (const Spot& s : preview.spots)
    s_most = std::max(s_most, s.s());
  s_most = std::min(s_most, 15.0); // past this the number says no more
  const std::vector<RiskRow> rows = rows_of(preview);
  Plot top, foot;
  top.low = page.low + Vec2{80 * u, 30 * u};
  top.high = {page.high.x, page.low.y + 0.55 * (page.high.y - page.low.y)};
  foot.low = {top.low.x,
              top.high.y + (40 + kRow_px * static_cast<double>(rows.size() + has_stops(preview))) * u};
  foot.high = {page.high.x, page.high.y - 74 * u};
  top.x1 = foot.x1 = total / clock;
  top.y1 = s_most * 1.08;
  foot.y0 = lean_low * 1.1;
  foot.y1 = lean_high * 1.1;
  d.rectangle({top.low.x, top.low.y}, {top.high.x, top(0, 1).y}, Colour{kAlarm.r, kAlarm.g, kAlarm.b, 26});
  draw_axes(page, top, "", "snag number S", false);
  draw_axes(page, foot, minutes ? "program time (min)" : "program time (s)",
            fmt::format("lean ({})", shown.unit()));
  d.line({top(0, 1), top(top.x1, 1)}, kAlarm, 2.5 * u);
  // One column of pixels shows the highest of the samples in it: a plot of a million samples stays small.
  const auto columns = static_cast<std::size_t>(std::max(2.0, (top.high.x - top.low.x) / u));
  std::vector<float> s_at(columns, 0), lean_at(columns, 0);
  std::vector<char> seen(columns, 0), past(columns, 0);
  for (const PathSample& s : preview.samples) {
    const auto c =
        std::min(columns - 1,
                 static_cast<std::size_t>(std::max(0.0, s.time_s / total * static_cast<double>(columns))));
    if (s.web < 0)
      continue;
    seen[c] = 1;
    s_at[c] = std::max(s_at[c], s.s);
    if (s.s >= 1)
      past[c] = 1;
    else if (std::abs(s.lean_mm) > std::abs(lean_at[c]))
      lean_at[c] = s.lean_mm;
  }
  for (const Spot& spot : preview.spots) { // found between two samples
    const auto c =
        std::min(columns - 1,
                 static_cast<std::size_t>(std::max(0.0, spot.time_s / total * static_cast<double>(columns))));
    seen[c] = 1;
    s_at[c] = std::max(s_at[c], static_cast<float>(spot.answer.s));
    past[c] = past[c] || spot.answer.s >= 1;
  }
  for (std::size_t c = 0; c < columns; ++c) {
    if (!seen[c])
      continue;
    const double t = (static_cast<double>(c) + 0.5) / static_cast<double>(columns) * top.x1;
    d.line({top(t, 0), top(t, std::min<double>(s_at[c], top.y1))}, snag_colour(s_at[c]), 1.6 * u);
    if (past[c])
      d.rectangle(foot(t, foot.y1) - Vec2{0.9 * u, 0}, foot(t, foot.y1) + Vec2{0.9 * u, 12 * u}, kAlarm);
    if (lean_at[c] != 0)
      d.line({foot(t, 0), foot(t, lean_at[c] / unit_mm)}, kFlutes, 1.6 * u);
  }
  d.rectangle({top.low.x + 4 * u, top(0, 1).y - 30 * u}, {top.low.x + 270 * u, top(0, 1).y - 3 * u},
              Colour{255, 255, 255, 225});
  d.text({top.low.x + 10 * u, top(0, 1).y - 10 * u}, "S = 1: snags or tears above", 18 * u, Anchor::start,
         kAlarm, true);
  d.line({foot(0, 0), foot(foot.x1, 0)}, kInk, 1.2 * u);
  for (std::size_t r = 0; r < rows.size(); ++r) {
    const double y = top.high.y + (20 + kRow_px * (static_cast<double>(r) + 0.5)) * u;
    d.text({top.low.x - 8 * u, y + 5 * u}, rows[r].words, 15 * u, Anchor::end);
    d.line({{top.low.x, y}, {top.high.x, y}}, kFoam, 1 * u);
    for (const RiskEvent& event : preview.checks->timeline.events)
      if (event.kind == rows[r].kind) {
        const double x = top(event.time_s / clock, 0).x;
        d.line({{x, y - 6 * u}, {x, y + 6 * u}}, kInk, 1.6 * u);
      }
  }
  if (has_stops(preview)) { // the plan's own numbers, under what it sees to
    const double y = top.high.y + (20 + kRow_px * (static_cast<double>(rows.size()) + 0.5)) * u;
    d.text({top.low.x - 8 * u, y + 5 * u}, "stops", 15 * u, Anchor::end, kInk, true);
    const std::vector<RiskStop>& stops = preview.checks->timeline.stops;
    for (std::size_t n = 0; n < stops.size(); ++n) {
      const double x = top(stops[n].time_s / clock, 0).x;
      d.line({{x, y - 6 * u}, {x, y + 6 * u}}, kInk, 3 * u);
      d.text({x + 4 * u, y + 5 * u}, std::to_string(n + 1), 14 * u, Anchor::start, kInk, true);
    }
  }
  std::vector<Badge> badges;
  page.heading("Worst places");
  for (const std::size_t rank : worst_places(preview, 6)) {
    const Spot& spot = preview.spots[rank];
    badges.push_back({top(spot.time_s / clock, std::min(spot.s(), top.y1)), std::to_string(rank + 1),
                      level_colour(spot.level())});
    page.note(fmt::format("{}  {}, line {}", rank + 1, time_text(spot.time_s), spot.program_line), kInk,
              true);
    page.note("S " + band_of(spot).text());
    page.gap(6);
  }
  draw_badges(page, badges);
  page.gap();
  page.colour_bar("Snag number S", 0, 1, cividis, "1 and more: snags or tears");
  if (std::any_of(preview.spots.begin(), preview.spots.end(), [](const Spot& s) { return band_of(s).solid; }))
    page.note("Bars by the formula, dots by finite elements where they were solved.", kPale);
  page.swatch(kFlutes, "lean, mean over the pass depth, + toward the cutter");
  page.swatch(kAlarm, "no lean given: past S = 1 millimetres mean nothing");
  if (!rows.empty())
    page.swatch(kInk, "ticks: what happens besides");
  out.drawing = std::move(page.drawing);
  return out;
}

namespace {

constexpr double kMost_mm = 60, kLeast_mm = 1.5; // the formula is asked for no web thinner than this

/// The shape asked about: the worst long web's, or a reference web of 25 mm height and 100 mm length.
SnagQuestion web_asked_about(const Preview& preview) {
  SnagQuestion question;
  question.web.h_mm = 25;
  question.web.d1_mm = question.web.d2_mm = 50;
  question.web.b_p_mm = contact_length_mm(
      preview.scene.cutters.empty() ? 3.175 : preview.scene.cutters.front().diameter_mm / 2, 1);
  question.pass_depth_mm = 6.35;
  // A short island says little of the other webs.
  const auto long_web = std::find_if(preview.spots.begin(), preview.spots.end(), [](const Spot& s) {
    return s.question.web.length_mm() >= 1.5 * s.question.web.h_mm;
  });
  if (long_web != preview.spots.end())
    question = long_web->question;
  question.web.w_mm = std::max(question.web.w_mm, kLeast_mm);
  question.gap_mm.fill(0);
  return question;
}

} // namespace

WidthChart width_chart(const Preview& preview) {
  const Shown shown{preview.scene.show_inch};
  const SnagQuestion question = web_asked_about(preview);
  const double h = question.web.h_mm;
  const FoamCard& own = preview.scene.main_foam();
  WidthChart chart;
  chart.inch = shown.inch;
  chart.title = "Narrowest web that holds";
  chart.finding = fmt::format(
      "Width where the snag number is 1, by the formula: web {} tall and {} long, {}.", shown.length(h),
      shown.length(question.web.length_mm()),
      question.web.end1 == question.web.end2 ? fmt::format("both ends {}", to_text(question.web.end1))
                                             : std::string("one end built in, the other free"));
  std::vector<const FoamCard*> foams{&own};
  for (const FoamCard& card : foam_cards())
    if (card.name != own.name && foams.size() < 4)
      foams.push_back(&card);
  double longest = 12;
  for (const CutterCard& c : preview.scene.cutters)
    longest = std::max(longest, c.flute_length_mm);
  for (const CutterCard& c : preview.scene.drawer)
    longest = std::max(longest, c.flute_length_mm);
  longest = std::max({longest * 1.15, h * 1.1, 15.0});
  const auto width = [&](double lambda, double flutes) {
    SnagQuestion q = question;
    q.contact = {0, std::min(h, flutes)};
    q.pass_depth_mm = std::min(q.pass_depth_mm, q.contact.high_mm);
    return std::clamp(narrowest_width(q, lambda).w_mm, kLeast_mm, kMost_mm * 2);
  };
  constexpr int kPoints = 25;
  for (const FoamCard* foam : foams) {
    WidthCurve curve;
    curve.name = foam->title.empty() ? foam->name : foam->title;
    for (int i = 0; i < kPoints; ++i) {
      const double flutes = 2 + (longest - 2) * i / (kPoints - 1);
      curve.flutes_mm.push_back(flutes);
      curve.width_mm.push_back(width(foam->lambda.nominal, flutes));
      if (foam != &own)
        continue;
      curve.low_mm.push_back(width(own.lambda.low, flutes));
      curve.high_mm.push_back(width(own.lambda.high, flutes));
    }
    chart.curves.push_back(std::move(curve));
  }
  for (const CutterCard& c : preview.scene.cutters) {
    const double least = width(own.lambda.nominal, c.flute_length_mm);
    chart.cutters.push_back({c.name, c.flute_length_mm,
                             least > 80 ? "no web of this shape up to " + shown.length(80) + " holds"
                                        : "holds webs from " + shown.length(least)});
  }
  const std::vector<std::size_t> places = worst_places(preview, 40);
  for (auto rank = places.rbegin(); rank != places.rend(); ++rank) {
    const Spot& spot = preview.spots[*rank];
    chart.webs.push_back({preview.scene.cutters[static_cast<std::size_t>(spot.cutter)].flute_length_mm,
                          spot.question.web.w_mm, spot.level()});
  }
  return chart;
}

Picture width_picture(const WidthChart& chart, const PictureOptions& options) {
  const Shown shown{chart.inch};
  const double unit_mm = shown.inch ? 25.4 : 1;
  Picture out;
  out.name = "narrowest";
  Page page =
      make_page(options, chart.title, chart.finding,
                chart.title + " against flute length, a curve for each foam with the band of its card. " +
                    chart.finding);
  const double u = page.u;
  Drawing& d = page.drawing;
  double most = 10, longest = 0;
  for (const WidthCurve& curve : chart.curves) {
    for (const double w : curve.width_mm)
      most = std::max(most, w);
    for (const double x : curve.flutes_mm)
      longest = std::max(longest, x);
  }
  Plot plot;
  plot.low = page.low + Vec2{80 * u, 10 * u};
  plot.high = page.high - Vec2{10 * u, 74 * u};
  plot.x1 = std::max(longest, 1.0) / unit_mm;
  plot.y1 = std::min(most * 1.3, kMost_mm) / unit_mm;
  draw_axes(page, plot, fmt::format("flute length ({})", shown.unit()),
            fmt::format("web thickness ({})", shown.unit()));
  const auto at = [&](double x_mm, double y_mm) {
    return plot(x_mm / unit_mm, std::min(y_mm / unit_mm, plot.y1));
  };
  // Told apart by lightness and dashes too; more curves than these begin again.
  static constexpr Colour kCurves[] = {kFlutes, {150, 110, 20}, {60, 60, 66}, {140, 150, 160}};
  const auto style = [](std::size_t f) {
    return std::pair{kCurves[f % std::size(kCurves)], f % std::size(kCurves) == 2 || f >= std::size(kCurves)};
  };
  bool banded = false;
  for (std::size_t f = chart.curves.size(); f-- > 0;) {
    const WidthCurve& curve = chart.curves[f];
    const auto [colour, dashed] = style(f);
    if (!curve.low_mm.empty()) {
      Band band;
      band.fill = Colour{colour.r, colour.g, colour.b, 60};
      for (std::size_t k = 0; k < curve.flutes_mm.size(); ++k) {
        band.low.push_back(at(curve.flutes_mm[k], curve.low_mm[k]));
        band.high.push_back(at(curve.flutes_mm[k], curve.high_mm[k]));
      }
      d.shapes.emplace_back(std::in_place_type<Band>, band);
      banded = true;
    }
    std::vector<Vec2> line;
    for (std::size_t k = 0; k < curve.flutes_mm.size(); ++k)
      if (curve.width_mm[k] / unit_mm <= plot.y1)
        line.push_back(at(curve.flutes_mm[k], curve.width_mm[k]));
    if (line.size() > 1)
      d.line(std::move(line), colour, (f == 0 ? 4 : 2.5) * u, dashed);
  }
  page.heading("Foam");
  for (std::size_t f = 0; f < chart.curves.size(); ++f)
    page.swatch(style(f).first, chart.curves[f].name + (style(f).second ? " (dashed)" : ""));
  if (banded)
    page.note("Shaded: the band from the card's range.");
  page.gap();
  if (!chart.cutters.empty())
    page.heading("Cutters");
  for (const WidthChart::Mark& c : chart.cutters) {
    const Vec2 foot = at(c.flutes_mm, 0);
    d.line({foot, {foot.x, plot.low.y}}, kInk, 1.5 * u, true);
    d.text({foot.x - 8 * u, plot.low.y + 20 * u},
           fitted(c.name, 17 * u, std::max(60 * u, foot.x - plot.low.x - 16 * u)), 17 * u, Anchor::end);
    page.note(fmt::format("{}: flutes {}{}", c.name, shown.length(c.flutes_mm),
                          c.words.empty() ? "" : ", " + c.words));
  }
  if (!chart.webs.empty()) {
    page.gap();
    page.heading("Webs of this job");
    for (const WidthChart::Web& web : chart.webs) {
      if (web.width_mm / unit_mm > plot.y1)
        continue; // far over every curve
      const Vec2 p = at(web.flutes_mm, web.width_mm);
      d.disc(p, 8 * u, {255, 255, 255});
      d.disc(p, 6.5 * u, level_colour(web.level));
    }
    page.swatch(level_colour(Level::tears), "snags or tears");
    page.swatch(level_colour(Level::leans), "leans");
    page.swatch(level_colour(Level::firm), "firm");
    page.note("Dots: each web at its own thickness. One of another height or length may lie across its "
              "curve. No web under " +
                  shown.length(kLeast_mm) + " is looked for.",
              kPale);
  }
  d.text(plot(plot.x1 * 0.02, plot.y1 * 0.955), "holds above a curve", 18 * u, Anchor::start, kPale);
  out.drawing = std::move(page.drawing);
  return out;
}

Picture narrowest_picture(PictureSource& source) {
  return width_picture(width_chart(source.preview), source.options);
}

} // namespace snagmap
