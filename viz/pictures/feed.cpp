// Plots of the real feed and the real chip load along the program.
#include "sim/path/moves.hpp"
#include "viz/pictures/set.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

constexpr int kLooks = 12; // moments looked at in one column of pixels
constexpr Colour kRapid{200, 205, 211};

/// What one column of pixels holds: least and greatest of the moments looked at.
struct Column {
  double low = 0, high = 0, programmed = 0, chip_low = 0, chip_high = 0, least_chip = 0;
  bool feed = false, rapid = false, chip = false;

  void add_feed(double real, double word) {
    low = feed ? std::min(low, real) : real;
    high = std::max(high, real);
    programmed = std::max(programmed, word);
    feed = true;
  }
  void add_chip(double real, double least) {
    chip_low = chip ? std::min(chip_low, real) : real;
    chip_high = std::max(chip_high, real);
    least_chip = std::max(least_chip, least);
    chip = true;
  }
};

/// Program time without tool changes, which by hand take most of it: the spans between them.
struct TimeSpan {
  double from_s = 0, to_s = 0;
};
std::vector<TimeSpan> between_changes(const Preview& preview) {
  std::vector<TimeSpan> spans{{0, 0}};
  for (std::size_t i = 0; i < preview.path.moves.size(); ++i)
    if (preview.path.moves[i].kind == MoveKind::tool_change)
      spans.push_back({preview.motion.start_s[i + 1], preview.motion.start_s[i + 1]});
    else
      spans.back().to_s = preview.motion.start_s[i + 1];
  return spans;
}

std::vector<Column> columns_of(const Preview& preview, const std::vector<TimeSpan>& spans, double total,
                               std::size_t count) {
  std::vector<Column> columns(count);
  std::size_t span = 0;
  double before = 0; // time in the spans before this one
  for (std::size_t k = 0; k < count * kLooks && !preview.path.moves.empty(); ++k) {
    const double t = total * (static_cast<double>(k) + 0.5) / static_cast<double>(count * kLooks);
    while (span + 1 < spans.size() && t - before > spans[span].to_s - spans[span].from_s) {
      before += spans[span].to_s - spans[span].from_s;
      ++span;
    }
    const PathPlace at = place_at(preview.path, preview.motion, spans[span].from_s + t - before);
    const Move& move = preview.path.moves[at.move];
    Column& column = columns[k / kLooks];
    if (move.kind == MoveKind::rapid)
      column.rapid = true;
    if (!is_feed(move))
      continue;
    const double feed = 60 * motion_at(preview.path, preview.motion, at.move, at.s).speed_mm_s;
    column.add_feed(feed, move.feed_mm_min);
    const CutterCard& cutter = preview.scene.cutters[static_cast<std::size_t>(move.tool)];
    const double teeth_per_min = cutter.flutes * std::abs(static_cast<double>(move.spindle_rpm));
    if (teeth_per_min > 0)
      column.add_chip(feed / teeth_per_min, cutter.least_chip_mm);
  }
  return columns;
}

double together_s(const std::vector<TimeSpan>& spans) {
  double total = 1e-3;
  for (const TimeSpan& span : spans)
    total += span.to_s - span.from_s;
  return total;
}

/// The mean feed against the mean of the feed words.
std::string feed_words(const Preview& preview, const Shown& shown) {
  double length = 0, by_words = 0, real = 0;
  for (std::size_t i = 0; i < preview.path.moves.size(); ++i) {
    const Move& move = preview.path.moves[i];
    if (!is_feed(move))
      continue;
    length += length_mm(move);
    by_words += 60 * length_mm(move) / move.feed_mm_min;
    real += preview.motion.start_s[i + 1] - preview.motion.start_s[i];
  }
  if (real <= 0)
    return "No feed moves.";
  return fmt::format("{} in the mean of {} programmed: {} of cutting where the feed words say {}.",
                     shown.feed(60 * length / real), shown.feed(60 * length / by_words), time_text(real),
                     time_text(by_words));
}

/// Feed above, chip load below, over one time axis; each in the unit shown.
struct FeedPlots {
  Plot feed, chip;
  double clock_s, feed_unit, chip_unit, step; ///< step: a column's width on the time axis
};

FeedPlots plots_of(const Page& page, const Shown& shown) {
  const double u = page.u;
  FeedPlots at{{}, {}, 1, shown.inch ? kInch_mm : 1000, shown.unit_mm(), 0};
  at.feed.low = page.low + Vec2{80 * u, 30 * u};
  at.feed.high = {page.high.x, page.low.y + 0.5 * (page.high.y - page.low.y)};
  at.chip.low = {at.feed.low.x, at.feed.high.y + 40 * u};
  at.chip.high = {page.high.x, page.high.y - 74 * u};
  return at;
}

void scale(FeedPlots& at, const std::vector<Column>& columns, double total_s) {
  double feed_most = 1, chip_most = 1e-3;
  for (const Column& c : columns) {
    feed_most = std::max({feed_most, c.high, c.programmed});
    chip_most = std::max({chip_most, c.chip_high, c.least_chip});
  }
  at.clock_s = total_s > 180 ? 60 : 1;
  at.feed.x1 = at.chip.x1 = total_s / at.clock_s;
  at.feed.y1 = 1.1 * feed_most / at.feed_unit;
  at.chip.y1 = 1.1 * chip_most / at.chip_unit;
  at.step = at.feed.x1 / static_cast<double>(columns.size());
}

/// From the axis up: pale to the greatest, full to the least.
void draw_bars(Page& page, const Plot& plot, double t, double least, double greatest) {
  page.drawing.line({plot(t, 0), plot(t, greatest)}, Colour{kFlutes.r, kFlutes.g, kFlutes.b, 90},
                    1.4 * page.u);
  page.drawing.line({plot(t, 0), plot(t, least)}, kFlutes, 1.4 * page.u);
}

void draw_column(Page& page, const FeedPlots& at, const Column& c, std::size_t k) {
  const double t0 = static_cast<double>(k) * at.step, t = t0 + 0.5 * at.step;
  const auto mark = [&](const Plot& plot, double value) {
    page.drawing.line({plot(t0, value), plot(t0 + at.step, value)}, kInk, 2.5 * page.u);
  };
  if (c.feed) {
    draw_bars(page, at.feed, t, c.low / at.feed_unit, c.high / at.feed_unit);
    mark(at.feed, c.programmed / at.feed_unit);
  }
  if (c.chip) {
    draw_bars(page, at.chip, t, c.chip_low / at.chip_unit, c.chip_high / at.chip_unit);
    if (c.least_chip > 0)
      mark(at.chip, c.least_chip / at.chip_unit);
  }
}

void draw_rapids(Page& page, const FeedPlots& at, const std::vector<Column>& columns) {
  for (std::size_t k = 0; k < columns.size(); ++k)
    if (columns[k].rapid)
      page.drawing.rectangle(at.feed(static_cast<double>(k) * at.step, at.feed.y1),
                             at.feed(static_cast<double>(k + 1) * at.step, 0),
                             Colour{kRapid.r, kRapid.g, kRapid.b, 110});
}

void write_legend(Page& page) {
  page.heading("Above: feed");
  page.swatch(kInk, "programmed");
  page.swatch(kFlutes, "real, the slowest at this moment");
  page.swatch(Colour{171, 200, 213}, "real, the fastest");
  page.swatch(kRapid, "rapid moves");
  page.gap();
  page.heading("Below: chip load");
  page.swatch(kInk, "least chip of the cutter");
  page.note("Under it the edge rubs and heats. Common practice, no source, unless the scene names one.",
            kPale);
}

} // namespace

Picture feed_picture(PictureSource& source) {
  const Preview& preview = source.preview;
  const Shown& shown = source.shown;
  const std::vector<TimeSpan> spans = between_changes(preview);
  const double total_s = together_s(spans);
  const std::string finding = feed_words(preview, shown);
  Picture out;
  out.name = "feed";
  Page page = make_page(source.options, "Real feed and chip load along the program", finding,
                        "Two plots against program time: real feed above, chip load below. " + finding);
  FeedPlots at = plots_of(page, shown);
  const std::vector<Column> columns =
      columns_of(preview, spans, total_s,
                 static_cast<std::size_t>(std::max(2.0, (at.feed.high.x - at.feed.low.x) / page.u)));
  scale(at, columns, total_s);
  draw_rapids(page, at, columns);
  draw_axes(page, at.feed, "", shown.inch ? "feed (in/min)" : "feed (m/min)", false);
  draw_axes(page, at.chip,
            fmt::format("program time{} ({})", spans.size() > 1 ? " without tool changes" : "",
                        at.clock_s > 1 ? "min" : "s"),
            fmt::format("chip load ({} a tooth)", shown.unit()));
  for (std::size_t k = 0; k < columns.size(); ++k)
    draw_column(page, at, columns[k], k);
  write_legend(page);
  out.drawing = std::move(page.drawing);
  return out;
}

} // namespace snagmap
