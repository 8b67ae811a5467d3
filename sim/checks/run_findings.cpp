// Warnings about time, feeds and chips, in words.
#include "sim/checks/run_numbers.hpp"

#include <fmt/format.h>

#include <cmath>

namespace snagmap {
namespace {

constexpr double kWorthSaying = 0.05;    // share of the path in foam that may rub without a word
constexpr double kSlowWorthSaying = 0.1; // every corner slows a machine down a little

Finding at(const char* kind, std::int32_t line, double time_s, Vec3 place) {
  Finding finding;
  finding.kind = kind;
  finding.program_line = line;
  finding.time_s = time_s;
  finding.place_mm = place;
  return finding;
}

std::string lines_of(const Stretch& stretch) {
  return stretch.to_line > stretch.from_line
             ? fmt::format("lines {} to {}", stretch.from_line, stretch.to_line)
             : fmt::format("line {}", stretch.from_line);
}

std::string worst_of(const std::vector<Stretch>& list) {
  std::string words = "; the longest";
  for (std::size_t n = 0; n < list.size() && n < 3; ++n)
    words += fmt::format("{} {} ({:.0f} mm, {:.1f} s)", n ? "," : ":", lines_of(list[n]), list[n].length_mm,
                         list[n].spent_s);
  return words;
}

void add_feeds(const FeedWish& feeds, const Path& path, const Motion& motion, std::vector<Finding>& out) {
  if (!feeds.over.empty()) {
    const FeedOverLimit& worst = feeds.over.front();
    Finding finding =
        at("feed-over-axes", worst.line, motion.start_s[worst.first_move], path.moves[worst.first_move].from);
    finding.words = fmt::format("the program asks for {:.0f} mm/min where the axes allow {:.0f} mm/min",
                                worst.programmed_mm_min, worst.allowed_mm_min);
    finding.words += fmt::format(
        ": {:.0f} mm in {} place{}, {:.1f} % of the feed path, run slower than written", feeds.over_mm,
        feeds.over_places, feeds.over_places == 1 ? "" : "s", 100 * feeds.over_mm / feeds.length_mm);
    out.push_back(std::move(finding));
  }
  if (feeds.slow_mm > kSlowWorthSaying * feeds.length_mm) {
    const Stretch& worst = feeds.slow.front();
    Finding finding = at("feed-not-reached", worst.from_line, worst.time_s, worst.place_mm);
    finding.words = fmt::format("{:.0f} % of the feed path is run under nine tenths of its feed word: {:.0f} "
                                "mm/min in the mean of {:.0f} mm/min "
                                "programmed{}",
                                100 * feeds.slow_mm / feeds.length_mm, 60 * feeds.length_mm / feeds.real_s,
                                60 * feeds.length_mm / feeds.by_words_s, worst_of(feeds.slow));
    out.push_back(std::move(finding));
  }
}

void add_chips(const ThinChips& thin, const Scene& scene, std::vector<Finding>& out) {
  if (!(thin.thin_mm > kWorthSaying * thin.in_foam_mm))
    return;
  const Stretch& worst = thin.longest.front();
  Finding finding = at("thin-chips", worst.from_line, worst.time_s, worst.place_mm);
  finding.words = fmt::format(
      "{} cuts chips thinner than {:g} mm a tooth on {:.0f} % of its path in foam, {:.0f} s: there the edge "
      "rubs, and heat melts or lights foam{}",
      scene.cutters[static_cast<std::size_t>(thin.cutter)].name, thin.least_mm,
      100 * thin.thin_mm / thin.in_foam_mm, thin.thin_s, worst_of(thin.longest));
  out.push_back(std::move(finding));
}

/// A speed the spindle cannot run makes every chip load of this preview wrong.
void add_spindle(const Path& path, const Motion& motion, const MachineCard& machine,
                 std::vector<Finding>& out) {
  if (machine.spindle_max_rpm <= 0)
    return;
  for (std::size_t i = 0; i < path.moves.size(); ++i) {
    const double rpm = std::abs(static_cast<double>(path.moves[i].spindle_rpm));
    if (rpm == 0 || (rpm >= machine.spindle_min_rpm && rpm <= machine.spindle_max_rpm))
      continue;
    Finding finding = at("spindle-range", path.moves[i].line, motion.start_s[i], path.moves[i].from);
    finding.words =
        fmt::format("S{:.0f} is outside the spindle's {:.0f} to {:.0f} rev/min: real chip loads will "
                    "differ from those given here",
                    rpm, machine.spindle_min_rpm, machine.spindle_max_rpm);
    out.push_back(std::move(finding));
    return; // once: the same cause each time
  }
}

} // namespace

std::vector<Finding> run_findings(const RunNumbers& run, const Path& path, const Motion& motion,
                                  const Scene& scene) {
  std::vector<Finding> findings;
  add_feeds(run.feeds, path, motion, findings);
  for (const ThinChips& thin : run.thin)
    add_chips(thin, scene, findings);
  add_spindle(path, motion, scene.machine, findings);
  return findings;
}

} // namespace snagmap
