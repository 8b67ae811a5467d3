// What the cutter removes along its path: the record's cuts put back in the order in which they happen.
#pragma once

#include "sim/motion/motion.hpp"
#include "sim/path/path.hpp"
#include "sim/record/run_grid.hpp"

#include <vector>

namespace snagmap {

/// A short stretch of one move in which foam is removed without a gap.
struct CutStep {
  std::uint32_t move = 0;
  float from_s = 0, to_s = 0;    ///< shares of the move's length
  double from_mm = 0, to_mm = 0; ///< along the whole path, rapids included
  double volume_mm3 = 0;
  float low_mm = 0, high_mm = 0; ///< heights of the foam removed, work coordinates
  double depth_mm = 0;           ///< mean height of foam removed in a column, by volume
  float in_plan_mm2 = 0;         ///< columns of the step, seen from above
};

struct CutTrace {
  std::vector<CutStep> steps;  ///< in order of the path
  std::vector<double> move_mm; ///< path length before each move; one more entry at the end
  double voxel_mm = 0;
};

/// Every column is removed at the share where the flutes' disc first covers its centre, low enough to reach
/// it; so a reading is exact in the path and known to one voxel across it. A pass thinner than a voxel may
/// read as broken. Steps end with the move, at gaps over one voxel, and after step_mm. In parallel over
/// moves, the same bits always.
CutTrace trace_cuts(const RunGrid& grid, const Path& path, const std::vector<CutterCard>& cutters,
                    double step_mm);

} // namespace snagmap
