// Plots of the real feed and the real chip load along the program.
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
    if (move.kind != MoveKind::line && move.kind != MoveKind::arc)
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

} // namespace

Picture feed_picture(PictureSource& source) {
  const Preview& preview = source.preview;
  const Shown& shown = source.shown;
  const std::vector<TimeSpan> spans = between_changes(preview);
  double total = 1e-3;
  for (const TimeSpan& span : spans)
    total += span.to_s - span.from_s;
  double length = 0, by_words = 0, real = 0;
  for (std::size_t i = 0; i < preview.path.moves.size(); ++i) {
    const Move& move = preview.path.moves[i];
    if (move.kind != MoveKind::line && move.kind != MoveKind::arc)
      continue;
    length += length_mm(move);
    by_words += 60 * length_mm(move) / move.feed_mm_min;
    real += preview.motion.start_s[i + 1] - preview.motion.start_s[i];
  }
  const std::string finding =
      real > 0 ? fmt::format("{} in the mean of {} programmed: {} of cutting where the feed words say {}.",
                             shown.feed(60 * length / real), shown.feed(60 * length / by_words),
                             time_text(real), time_text(by_words))
               : "No feed moves.";
  Picture out;
  out.name = "feed";
  Page page = make_page(source.options, "Real feed and chip load along the program", finding,
                        "Two plots against program time: real feed above, chip load below. " + finding);
  const double u = page.u, clock = total > 180 ? 60 : 1;
  Drawing& d = page.drawing;
  Plot top, foot;
  top.low = page.low + Vec2{80 * u, 30 * u};
  top.high = {page.high.x, page.low.y + 0.5 * (page.high.y - page.low.y)};
  foot.low = {top.low.x, top.high.y + 40 * u};
  foot.high = {page.high.x, page.high.y - 74 * u};
  const std::vector<Column> columns = columns_of(
      preview, spans, total, static_cast<std::size_t>(std::max(2.0, (top.high.x - top.low.x) / u)));
  const double feed_unit = shown.inch ? 25.4 : 1000, unit_mm = shown.inch ? 25.4 : 1;
  double feed_most = 1, chip_most = 1e-3;
  for (const Column& c : columns) {
    feed_most = std::max({feed_most, c.high, c.programmed});
    chip_most = std::max({chip_most, c.chip_high, c.least_chip});
  }
  top.x1 = foot.x1 = total / clock;
  top.y1 = 1.1 * feed_most / feed_unit;
  foot.y1 = 1.1 * chip_most / unit_mm;
  const double step = top.x1 / static_cast<double>(columns.size());
  for (std::size_t k = 0; k < columns.size(); ++k)
    if (columns[k].rapid)
      d.rectangle(top(static_cast<double>(k) * step, top.y1), top(static_cast<double>(k + 1) * step, 0),
                  Colour{kRapid.r, kRapid.g, kRapid.b, 110});
  draw_axes(page, top, "", shown.inch ? "feed (in/min)" : "feed (m/min)", false);
  draw_axes(page, foot,
            fmt::format("program time{} ({})", spans.size() > 1 ? " without tool changes" : "",
                        clock > 1 ? "min" : "s"),
            fmt::format("chip load ({} a tooth)", shown.unit()));
  for (std::size_t k = 0; k < columns.size(); ++k) {
    const Column& c = columns[k];
    const double t0 = static_cast<double>(k) * step, t = t0 + 0.5 * step;
    if (c.feed) {
      d.line({top(t, 0), top(t, c.high / feed_unit)}, Colour{kFlutes.r, kFlutes.g, kFlutes.b, 90}, 1.4 * u);
      d.line({top(t, 0), top(t, c.low / feed_unit)}, kFlutes, 1.4 * u);
      d.line({top(t0, c.programmed / feed_unit), top(t0 + step, c.programmed / feed_unit)}, kInk, 2.5 * u);
    }
    if (c.chip) {
      d.line({foot(t, 0), foot(t, c.chip_high / unit_mm)}, Colour{kFlutes.r, kFlutes.g, kFlutes.b, 90},
             1.4 * u);
      d.line({foot(t, 0), foot(t, c.chip_low / unit_mm)}, kFlutes, 1.4 * u);
      if (c.least_chip > 0)
        d.line({foot(t0, c.least_chip / unit_mm), foot(t0 + step, c.least_chip / unit_mm)}, kInk, 2.5 * u);
    }
  }
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
  out.drawing = std::move(page.drawing);
  return out;
}

} // namespace snagmap
