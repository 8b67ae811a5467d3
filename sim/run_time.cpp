#include "sim/run_time.hpp"

#include "sim/motion_ramp.hpp"

#include <algorithm>

namespace snagmap {
namespace {

bool is_feed(const Move& move) {
  return move.kind == MoveKind::line || move.kind == MoveKind::arc;
}

} // namespace

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
    if (!is_feed(move) || length_mm(move) <= 0)
      continue;
    const double wish = move.feed_mm_min, allowed = greatest_feed_mm_min(move, machine);
    if (wish <= allowed * (1 + 1e-6)) { // the feed is kept as a float
      running = false;
      continue;
    }
    if (!running)
      runs.push_back({i, 0, move.line, wish, allowed});
    running = true;
    FeedOverLimit& run = runs.back();
    ++run.moves;
    if (wish / allowed > run.programmed_mm_min / run.allowed_mm_min) {
      run.programmed_mm_min = wish;
      run.allowed_mm_min = allowed;
    }
  }
  return runs;
}

std::vector<ChipLoad> chip_loads(const Path& path, const Motion& motion, const std::vector<ToolEdge>& edges) {
  std::vector<ChipLoad> loads(path.moves.size());
  for (std::size_t i = 0; i < path.moves.size(); ++i) {
    const Move& move = path.moves[i];
    const double length = is_feed(move) && move.spindle_rpm > 0 ? length_mm(move) : 0;
    if (length <= 0)
      continue;
    const ToolEdge& edge = edges.at(static_cast<std::size_t>(move.tool));
    const double teeth_per_s = edge.flutes * static_cast<double>(move.spindle_rpm) / 60;
    const double time = motion.start_s[i + 1] - motion.start_s[i];
    const double in = motion.speed_in_mm_s[i], peak = motion.speed_peak_mm_s[i],
                 out = motion.speed_out_mm_s[i];
    ChipLoad& load = loads[i];
    load.mean_mm = static_cast<float>(length / time / teeth_per_s);
    load.least_mm = static_cast<float>(std::min(in, out) / teeth_per_s);
    load.most_mm = static_cast<float>(peak / teeth_per_s);
    const double limit = edge.rubbing_mm * teeth_per_s; // as a speed, mm/s
    if (peak < limit) {
      load.rubbing_mm = static_cast<float>(length);
      load.rubbing_s = static_cast<float>(time);
    } else if (std::min(in, out) < limit) {
      const double a = motion.acceleration_mm_s2[i], j = motion.jerk_mm_s3.empty() ? 0 : motion.jerk_mm_s3[i];
      const RampPoint up = ramp_below({in, peak, a, j}, limit), down = ramp_below({peak, out, a, j}, limit);
      load.rubbing_mm = static_cast<float>(up.length_mm + down.length_mm);
      load.rubbing_s = static_cast<float>(up.time_s + down.time_s);
    }
  }
  return loads;
}

} // namespace snagmap
