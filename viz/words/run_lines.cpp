#include "viz/words/run_lines.hpp"

#include "sim/checks/job_checks.hpp"
#include "viz/words/shown.hpp"

#include <fmt/format.h>

namespace snagmap {
namespace {

double share(double part, double whole) {
  return whole > 0 ? 100 * part / whole : 0;
}

/// "85 cm3", "5.2 in3"
std::string volume(double mm3, bool inch) {
  return inch ? fmt::format("{:.3g} in3", mm3 / 16387.064) : fmt::format("{:.3g} cm3", mm3 / 1000);
}

/// What it swells to as chips: "255 to 850 cm3".
std::string loose(double mm3, bool inch) {
  const std::string high = volume(kBulkHigh * mm3, inch);
  const double unit = inch ? 16387.064 : 1000;
  return fmt::format("{:.3g} to {}", kBulkLow * mm3 / unit, high);
}

std::string time_words(const RunNumbers& run) {
  std::string words = fmt::format("{} in all: {} cutting, {} rapids", time_text(run.time.total_s()),
                                  time_text(run.time.cutting_s), time_text(run.time.rapids_s));
  words += fmt::format(", {} tool changes, {} dwells and spindle run-up", time_text(run.time.changes_s),
                       time_text(run.time.waiting_s));
  return words +
         fmt::format("; the feed words alone would make {} of the cutting", time_text(run.feeds.by_words_s));
}

std::string feed_words(const FeedWish& feeds, const Shown& shown) {
  return fmt::format(
      "{} in the mean of {} programmed; {:.0f} % of the feed path is run under nine tenths of its "
      "feed word, {:.1f} % is programmed over the axes' limits",
      shown.feed(60 * feeds.length_mm / feeds.real_s), shown.feed(60 * feeds.length_mm / feeds.by_words_s),
      share(feeds.slow_mm, feeds.length_mm), share(feeds.over_mm, feeds.length_mm));
}

std::string chip_words(const RunNumbers& run, const Scene& scene, const Shown& shown) {
  std::string words;
  for (const ThinChips& thin : run.thin)
    words += fmt::format("{}{}: {} on {:.0f} % of its path in foam", words.empty() ? "" : "; ",
                         scene.cutters[static_cast<std::size_t>(thin.cutter)].name,
                         fmt::format("under {:.4g} {} a tooth", shown.of(thin.least_mm), shown.unit()),
                         share(thin.thin_mm, thin.in_foam_mm));
  return words + ", plunges left out";
}

std::string foam_words(const FoamRemoved& foam, bool inch) {
  std::string words =
      fmt::format("{} in all; {} in the busiest minute (from {}, line {}), {} of loose chips for the hose",
                  volume(foam.total_mm3, inch), volume(foam.busiest_minute_mm3, inch),
                  time_text(foam.busiest_from_s), foam.busiest_line, loose(foam.busiest_minute_mm3, inch));
  if (foam.largest_run_mm3 > 0)
    words +=
        fmt::format("; {} in the largest run without a break (line {}), {} of chips",
                    volume(foam.largest_run_mm3, inch), foam.run_line, loose(foam.largest_run_mm3, inch));
  if (foam.neck_room_mm3 > 0)
    words += fmt::format(" against {} of room round the neck", volume(foam.neck_room_mm3, inch));
  const std::string coarse = foam.by_columns_mm3 > 0
                                 ? fmt::format(" but {} of it, counted by columns where short moves crowd",
                                               volume(foam.by_columns_mm3, inch))
                                 : "";
  return words + fmt::format(" (within {:g} %{}; chips {:g} to {:g} times the solid: common practice)",
                             100 * kVolumeKnown, coarse, kBulkLow, kBulkHigh);
}

} // namespace

std::vector<std::pair<std::string, std::string>> run_lines(const Preview& preview) {
  if (!preview.checks)
    return {};
  const RunNumbers& run = preview.checks->run;
  const Shown shown{preview.scene.show_inch};
  std::vector<std::pair<std::string, std::string>> lines{{"Time", time_words(run)}};
  if (run.feeds.real_s > 0)
    lines.emplace_back("Real feed", feed_words(run.feeds, shown));
  if (!run.thin.empty())
    lines.emplace_back("Chip load", chip_words(run, preview.scene, shown));
  if (run.foam.total_mm3 > 0)
    lines.emplace_back("Foam removed", foam_words(run.foam, shown.inch));
  return lines;
}

} // namespace snagmap
