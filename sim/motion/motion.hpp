// Real motion: what feed an acceleration-limited machine reaches, and when the tip is where.
#pragma once

#include "models/cards/machine.hpp"
#include "sim/path/path.hpp"

#include <vector>

namespace snagmap {

/// Time and speed of every move. Flat arrays by move. Within a move the speed ramps from `in` to `peak`,
/// holds, and ramps to `out` (a trapezoid; with a jerk limit each ramp is a symmetric S that begins and ends
/// unaccelerated).
struct Motion {
  std::vector<double> start_s;      ///< program time when the move begins; one more entry at the end: total
  std::vector<float> speed_in_mm_s; ///< real speed at the start of the move
  std::vector<float> speed_peak_mm_s;
  std::vector<float> speed_out_mm_s;
  std::vector<float> acceleration_mm_s2; ///< along the move
  std::vector<float> jerk_mm_s3;         ///< along the move; empty when the machine has no jerk limit
  double total_s() const { return start_s.empty() ? 0 : start_s.back(); }
};

/// Plans the whole path: axis limits, corners by path deviation, arcs and chopped arcs by the acceleration
/// across the path, then a pass back and a pass forward so that every speed can be reached (common look-ahead
/// planning). The machine starts and ends at rest and stands still for dwells, stops and tool changes. The
/// spindle's run-up is spent in the standing move (a dwell of 0 s from the reader) at which it starts.
/// O(moves).
Motion plan_motion(const Path& path, const MachineCard& machine);

/// The greatest feed the axes allow along a move, mm/min, whatever the program asks; infinite when nothing
/// limits.
double greatest_feed_mm_min(const Move& move, const MachineCard& machine);

/// Program time and real speed at the share s (0..1 of the length) of move i.
struct MotionPoint {
  double time_s = 0, speed_mm_s = 0;
};
MotionPoint motion_at(const Path& path, const Motion& motion, std::size_t move, double s);
/// The move and share of its length at a program time (clamped to the program).
struct PathPlace {
  std::size_t move = 0;
  double s = 0;
};
PathPlace place_at(const Path& path, const Motion& motion, double time_s);

} // namespace snagmap
