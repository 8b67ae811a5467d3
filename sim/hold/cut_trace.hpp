// What the cutter removes along its path: the record's cuts put back in the order in which they happen.
#pragma once

#include "sim/motion/motion.hpp"
#include "sim/path/path.hpp"
#include "sim/record/record.hpp"

#include <vector>

namespace snagmap {

/// A short stretch of one move in which foam is removed without a gap.
struct CutStep {
  std::uint32_t move = 0;
  float from_s = 0, to_s = 0;    ///< shares of the move's length
  double from_mm = 0, to_mm = 0; ///< along the whole path, rapids included
  double volume_mm3 = 0;
  float low_mm = 0, high_mm = 0; ///< heights of the foam removed, work coordinates
  double depth_mm = 0;           ///< mean height of foam removed at a place, by volume
  float in_plan_mm2 = 0;         ///< of the step, seen from above
};

struct CutTrace {
  std::vector<CutStep> steps;  ///< in order of the path
  std::vector<double> move_mm; ///< path length before each move; one more entry at the end
  double films_mm3 = 0;        ///< foam that leaves in films under kFilm_mm, in no step
  double columns_mm3 = 0;      ///< of all, what was read from the columns: crowded short moves (removed.hpp)
};

/// Foam is left out for less than this much of the path: no gap.
constexpr double kTraceGap_mm = 0.5;
/// What is cut no wider than this is rounding of a program's numbers and chords, no cut: it joins nothing and
/// breaks nothing.
constexpr double kFilm_mm = 0.02;

/// What each move removes, by its own swept body less those before it (sim/probe/removed.hpp): volumes
/// whatever the voxel (removed.hpp), each at the share where the flutes' disc first covers its place, low
/// enough to reach it. Steps end with the move, at gaps, and after step_mm. `path` must be the one the record
/// was cut with. In parallel over moves, the same bits always.
CutTrace trace_cuts(const RemovalRecord& record, const Path& path, double step_mm);

} // namespace snagmap
