// Warnings about time, feeds and chips.
#include "sim/checks/run_numbers.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

constexpr double kWorthSaying = 0.05;    // share of the path in foam that may rub without a word
constexpr double kSlowWorthSaying = 0.1; // every corner slows a machine down a little

constexpr std::size_t kStretchesTold = 3;

std::vector<fact::Lines> longest_of(const std::vector<Stretch>& list) {
  std::vector<fact::Lines> told;
  for (std::size_t n = 0; n < std::min(kStretchesTold, list.size()); ++n)
    told.push_back({list[n].from_line, list[n].to_line, list[n].length_mm, list[n].spent_s});
  return told;
}

void add_feeds(const FeedWish& feeds, const Path& path, const Motion& motion, std::vector<Finding>& out) {
  if (!feeds.over.empty()) {
    const FeedOverLimit& worst = feeds.over.front();
    out.push_back(at_moment(fact::FeedOverAxes{worst.programmed_mm_min, worst.allowed_mm_min, feeds.over_mm,
                                               feeds.over_places, feeds.over_mm / feeds.length_mm},
                            worst.line, motion.start_s[worst.first_move], path.moves[worst.first_move].from));
  }
  if (feeds.slow_mm > kSlowWorthSaying * feeds.length_mm) {
    const Stretch& worst = feeds.slow.front();
    out.push_back(
        at_moment(fact::FeedNotReached{feeds.slow_mm / feeds.length_mm, 60 * feeds.length_mm / feeds.real_s,
                                       60 * feeds.length_mm / feeds.by_words_s, longest_of(feeds.slow)},
                  worst.from_line, worst.time_s, worst.place_mm));
  }
}

void add_chips(const ThinChips& thin, const Scene& scene, std::vector<Finding>& out) {
  if (!(thin.thin_mm > kWorthSaying * thin.in_foam_mm))
    return;
  const Stretch& worst = thin.longest.front();
  out.push_back(
      at_moment(fact::ThinChips{scene.cutters[static_cast<std::size_t>(thin.cutter)].name, thin.least_mm,
                                thin.thin_mm / thin.in_foam_mm, thin.thin_s, longest_of(thin.longest)},
                worst.from_line, worst.time_s, worst.place_mm));
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
    out.push_back(at_moment(fact::SpindleRange{rpm, machine.spindle_min_rpm, machine.spindle_max_rpm},
                            path.moves[i].line, motion.start_s[i], path.moves[i].from));
    return; // once: the same cause each time
  }
}

/// A cutter that stands tears foam instead of cutting it. A program that never starts its spindle is common
/// on small routers, whose switch is on the tool (common practice, no source): that is a word, no alarm.
void add_standing(const Path& path, const Motion& motion, const CutTrace& trace, std::vector<Finding>& out) {
  const bool never_started = std::all_of(path.moves.begin(), path.moves.end(),
                                         [](const Move& move) { return move.spindle_rpm == 0; });
  const CutStep* first = nullptr;
  double foam_mm3 = 0;
  for (const CutStep& step : trace.steps)
    if (path.moves[step.move].spindle_rpm == 0) {
      first = first ? first : &step;
      foam_mm3 += step.volume_mm3;
    }
  if (!first)
    return;
  const Move& move = path.moves[first->move];
  out.push_back(at_moment(fact::SpindleStands{foam_mm3, never_started}, move.line,
                          motion.start_s[first->move], move.from, !never_started));
}

} // namespace

std::vector<Finding> run_findings(const RunNumbers& run, const Path& path, const Motion& motion,
                                  const Scene& scene, const CutTrace& trace) {
  std::vector<Finding> findings;
  add_feeds(run.feeds, path, motion, findings);
  for (const ThinChips& thin : run.thin)
    add_chips(thin, scene, findings);
  add_spindle(path, motion, scene.machine, findings);
  add_standing(path, motion, trace, findings);
  return findings;
}

} // namespace snagmap
