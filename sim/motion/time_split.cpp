#include "sim/motion/time_split.hpp"

#include "sim/motion/ramp.hpp"
#include "sim/path/moves.hpp"

#include <algorithm>

namespace snagmap {
TimeSplit split_time(const Path& path, const Motion& motion) {
  TimeSplit split;
  for (std::size_t i = 0; i < path.moves.size(); ++i) {
    const double time = motion.start_s[i + 1] - motion.start_s[i];
    switch (path.moves[i].kind) {
    case MoveKind::line:
    case MoveKind::arc:
      split.cutting_s += time;
      break;
    case MoveKind::rapid:
      split.rapids_s += time;
      break;
    case MoveKind::tool_change:
      split.changes_s += time;
      break;
    case MoveKind::dwell:
    case MoveKind::stop:
      split.waiting_s += time;
      break;
    }
  }
  return split;
}

std::vector<FeedOverLimit> feeds_over_limit(const Path& path, const MachineCard& machine) {
  std::vector<FeedOverLimit> runs;
  bool running = false;
  for (std::size_t i = 0; i < path.moves.size(); ++i) {
    const Move& move = path.moves[i];
    const double length = is_feed(move) ? length_mm(move) : 0;
    if (length <= 0)
      continue;
    const double wish = move.feed_mm_min, allowed = greatest_feed_mm_min(move, machine);
    if (wish <= allowed * (1 + 1e-6)) { // the feed is kept as a float
      running = false;
      continue;
    }
    if (!running)
      runs.push_back({i, 0, move.line, move.line, 0, wish, allowed});
    running = true;
    FeedOverLimit& run = runs.back();
    ++run.moves;
    run.last_line = move.line;
    run.length_mm += length;
    if (wish / allowed > run.programmed_mm_min / run.allowed_mm_min) {
      run.programmed_mm_min = wish;
      run.allowed_mm_min = allowed;
    }
  }
  return runs;
}

SlowEnds slower_than(const Path& path, const Motion& motion, std::size_t move, double speed_mm_s) {
  const double length = length_mm(path.moves[move]);
  const double in = motion.speed_in_mm_s[move], peak = motion.speed_peak_mm_s[move],
               out = motion.speed_out_mm_s[move];
  if (length <= 0)
    return {};
  if (peak < speed_mm_s)
    return {length, 0};
  const double a = motion.acceleration_mm_s2[move],
               j = motion.jerk_mm_s3.empty() ? 0 : motion.jerk_mm_s3[move];
  return {ramp_below({in, peak, a, j}, speed_mm_s).length_mm,
          ramp_below({peak, out, a, j}, speed_mm_s).length_mm};
}

double time_between_s(const Path& path, const Motion& motion, std::size_t move, double from, double to) {
  return motion_at(path, motion, move, to).time_s - motion_at(path, motion, move, from).time_s;
}

} // namespace snagmap
