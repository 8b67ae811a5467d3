// Samples along the path: where and when the watch looks, and which pass each belongs to.
#pragma once

#include "models/vec.hpp"
#include "sim/path/path.hpp"

#include <vector>

namespace snagmap {

struct Sample {
  std::uint32_t move = 0;
  double share = 0; ///< of the move's length
  Vec3 tip_mm;
  Vec2 heading;            ///< unit; {0,0} on a plunge
  double pass_z_mm = 0;    ///< level of the pass: a ramp belongs to the level it leads to
  double pass_step_mm = 0; ///< from the level cut before in this pocket (or the sheet's top) down to this one
};

/// One sample each `spacing_mm` of cutting path, counted across moves, none above `top_mm`.
/// Cost O(moves + samples).
std::vector<Sample> sample_path(const Path& path, double spacing_mm, double top_mm);
/// The same without those farther than `reach_mm` beside the sheet, where there is no foam to look at.
std::vector<Sample> sample_path(const Path& path, double spacing_mm, const Box3& sheet, double reach_mm);

} // namespace snagmap
