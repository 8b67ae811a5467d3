// Snag number and lean along the path, over the clock.
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
                      [&](const RiskEvent& e) { return e.kind() == row.kind; }))
        rows.push_back(row);
  return rows;
}

struct Timeline {
  PictureSource& source;
  Page& page;
  Plot top, foot; ///< snag number; lean
  std::vector<RiskRow> rows;
  double total_s = 1, clock_s = 1, unit_mm = 1;

  double x_of(double time_s) const { return top(time_s / clock_s, 0).x; }
  double row_y(std::size_t row) const {
    return top.high.y + (20 + kRow_px * (static_cast<double>(row) + 0.5)) * page.u;
  }
};

Timeline plots_for(PictureSource& source, Page& page) {
  const Preview& preview = source.preview;
  const double u = page.u;
  Timeline t{source, page, {}, {}, rows_of(preview)};
  t.total_s = std::max(preview.motion.total_s(), 1e-3);
  const bool minutes = t.total_s > 180;
  t.clock_s = minutes ? 60 : 1;
  t.unit_mm = source.shown.unit_mm();
  double s_most = 1.2, lean_low = 0, lean_high = 0.1;
  for (const PathSample& s : preview.samples) {
    s_most = std::max(s_most, static_cast<double>(s.s));
    lean_low = std::min(lean_low, s.lean_mm / t.unit_mm);
    lean_high = std::max(lean_high, s.lean_mm / t.unit_mm);
  }
  for (const Spot& s : preview.spots)
    s_most = std::max(s_most, s.s());
  s_most = std::min(s_most, 15.0); // past this the number says no more
  t.top.low = page.low + Vec2{80 * u, 30 * u};
  t.top.high = {page.high.x, page.low.y + 0.55 * (page.high.y - page.low.y)};
  t.foot.low = {t.top.low.x,
                t.top.high.y + (40 + kRow_px * static_cast<double>(t.rows.size() + has_stops(preview))) * u};
  t.foot.high = {page.high.x, page.high.y - 74 * u};
  t.top.x1 = t.foot.x1 = t.total_s / t.clock_s;
  t.top.y1 = s_most * 1.08;
  t.foot.y0 = lean_low * 1.1;
  t.foot.y1 = lean_high * 1.1;
  page.drawing.rectangle({t.top.low.x, t.top.low.y}, {t.top.high.x, t.top(0, 1).y},
                         Colour{kAlarm.r, kAlarm.g, kAlarm.b, 26});
  draw_axes(page, t.top, "", "snag number S", false);
  draw_axes(page, t.foot, minutes ? "program time (min)" : "program time (s)",
            fmt::format("lean ({})", source.shown.unit()));
  page.drawing.line({t.top(0, 1), t.top(t.top.x1, 1)}, kAlarm, 2.5 * u);
  return t;
}

/// What one column of pixels shows: the highest of the samples in it, so that a plot of a million samples
/// stays small.
struct TimelineColumn {
  float s = 0, lean_mm = 0;
  bool seen = false, past = false;
};

std::vector<TimelineColumn> columns_of(const Timeline& t) {
  const Preview& preview = t.source.preview;
  std::vector<TimelineColumn> columns(
      static_cast<std::size_t>(std::max(2.0, (t.top.high.x - t.top.low.x) / t.page.u)));
  const auto column_at = [&](double time_s) -> TimelineColumn& {
    const double at = time_s / t.total_s * static_cast<double>(columns.size());
    return columns[std::min(columns.size() - 1, static_cast<std::size_t>(std::max(0.0, at)))];
  };
  for (const PathSample& s : preview.samples) {
    if (s.web < 0)
      continue;
    TimelineColumn& c = column_at(s.time_s);
    c.seen = true;
    c.s = std::max(c.s, s.s);
    if (s.s >= 1)
      c.past = true;
    else if (std::abs(s.lean_mm) > std::abs(c.lean_mm))
      c.lean_mm = s.lean_mm;
  }
  for (const Spot& spot : preview.spots) { // found between two samples
    TimelineColumn& c = column_at(spot.time_s);
    c.seen = true;
    c.s = std::max(c.s, static_cast<float>(spot.answer.s));
    c.past = c.past || spot.answer.s >= 1;
  }
  return columns;
}

void draw_columns(const Timeline& t) {
  const double u = t.page.u;
  Drawing& d = t.page.drawing;
  const std::vector<TimelineColumn> columns = columns_of(t);
  for (std::size_t c = 0; c < columns.size(); ++c) {
    const TimelineColumn& column = columns[c];
    if (!column.seen)
      continue;
    const double x = (static_cast<double>(c) + 0.5) / static_cast<double>(columns.size()) * t.top.x1;
    d.line({t.top(x, 0), t.top(x, std::min<double>(column.s, t.top.y1))}, snag_colour(column.s), 1.6 * u);
    const Vec2 over = t.foot(x, t.foot.y1);
    if (column.past)
      d.rectangle(over - Vec2{0.9 * u, 0}, over + Vec2{0.9 * u, 12 * u}, kAlarm);
    if (column.lean_mm != 0)
      d.line({t.foot(x, 0), t.foot(x, column.lean_mm / t.unit_mm)}, kFlutes, 1.6 * u);
  }
  const double y = t.top(0, 1).y;
  d.rectangle({t.top.low.x + 4 * u, y - 30 * u}, {t.top.low.x + 270 * u, y - 3 * u},
              Colour{255, 255, 255, 225});
  d.text({t.top.low.x + 10 * u, y - 10 * u}, "S = 1: snags or tears above", 18 * u, Anchor::start, kAlarm,
         true);
  d.line({t.foot(0, 0), t.foot(t.foot.x1, 0)}, kInk, 1.2 * u);
}

void draw_rows(const Timeline& t) {
  const Preview& preview = t.source.preview;
  const double u = t.page.u;
  Drawing& d = t.page.drawing;
  for (std::size_t r = 0; r < t.rows.size(); ++r) {
    const double y = t.row_y(r);
    d.text({t.top.low.x - 8 * u, y + 5 * u}, t.rows[r].words, 15 * u, Anchor::end);
    d.line({{t.top.low.x, y}, {t.top.high.x, y}}, kFoam, 1 * u);
    for (const RiskEvent& event : preview.checks->timeline.events)
      if (event.kind() == t.rows[r].kind) {
        const double x = t.x_of(event.time_s);
        d.line({{x, y - 6 * u}, {x, y + 6 * u}}, kInk, 1.6 * u);
      }
  }
  if (!has_stops(preview))
    return;
  // The plan's own numbers, under what it sees to.
  const double y = t.row_y(t.rows.size());
  d.text({t.top.low.x - 8 * u, y + 5 * u}, "stops", 15 * u, Anchor::end, kInk, true);
  const std::vector<RiskStop>& stops = preview.checks->timeline.stops;
  for (std::size_t n = 0; n < stops.size(); ++n) {
    const double x = t.x_of(stops[n].time_s);
    d.line({{x, y - 6 * u}, {x, y + 6 * u}}, kInk, 3 * u);
    d.text({x + 4 * u, y + 5 * u}, std::to_string(n + 1), 14 * u, Anchor::start, kInk, true);
  }
}

void name_worst_places(const Timeline& t) {
  const Preview& preview = t.source.preview;
  std::vector<Badge> badges;
  t.page.heading("Worst webs");
  for (const std::size_t rank : worst_places(preview, 6)) {
    const Spot& spot = preview.spots[rank];
    badges.push_back({t.top(spot.time_s / t.clock_s, std::min(spot.s(), t.top.y1)), std::to_string(spot.web),
                      level_colour(spot.level())});
    t.page.note(fmt::format("web {}  {}, line {}", spot.web, time_text(spot.time_s), spot.program_line), kInk,
                true);
    t.page.note("S " + band_of(spot).text());
    t.page.gap(6);
  }
  draw_badges(t.page, badges);
  t.page.gap();
}

} // namespace

Picture timeline_picture(PictureSource& source) {
  const Preview& preview = source.preview;
  Page page =
      make_page(source.options, "Snag number and lean along the program", finding_of(preview),
                "Two plots against program time: snag number above, lean below. " + finding_of(preview));
  const Timeline t = plots_for(source, page);
  draw_columns(t);
  draw_rows(t);
  name_worst_places(t);
  page.colour_bar("Snag number S", 0, 1, cividis, "1 and more: snags or tears", 120);
  if (std::any_of(preview.spots.begin(), preview.spots.end(), [](const Spot& s) { return band_of(s).solid; }))
    page.note("Bars by the formula, dots by finite elements where they were solved.", kPale);
  page.swatch(kFlutes, "lean, mean over the pass depth, + toward the cutter");
  page.swatch(kAlarm, "no lean given: past S = 1 millimetres mean nothing");
  if (!t.rows.empty())
    page.swatch(kInk, "ticks: what happens besides");
  Picture out;
  out.name = "timeline";
  out.drawing = std::move(page.drawing);
  return out;
}

} // namespace snagmap
