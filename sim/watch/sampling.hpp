// Samples along the path: where and when the watch looks, and which pass each belongs to.
#pragma once

#include "models/base/vec.hpp"
#include "sim/path/path.hpp"

#include <vector>

namespace snagmap {

struct Sample {
  std::uint32_t move = 0;
  double share = 0; ///< of the move's length
  Vec3 tip_mm;
  Vec2 heading;            ///< unit; on a plunge that of the way it leads to, {0,0} where there is none
  double pass_z_mm = 0;    ///< level of the pass: a ramp belongs to the level it leads to
  double pass_step_mm = 0; ///< from the level cut before in this pocket (or the sheet's top) down to this one
};

/// One sample each `spacing_mm` of the path under `top_mm`, rapids and plunges too, counted from where the
/// tip went under it, so that neither the pieces of a motion nor what was cut before bear on the places; and
/// one where a way straight up begins, instead of those along it: nothing is cut there, and the flutes reach
/// less and less. Moves that only repeat what was looked at (repeats.hpp) have none. Cost O(moves + samples).
std::vector<Sample> sample_path(const Path& path, double spacing_mm, double top_mm);
/// The same without those farther than `reach_mm` beside the sheet, where there is no foam to look at.
std::vector<Sample> sample_path(const Path& path, double spacing_mm, const Box3& sheet, double reach_mm);

} // namespace snagmap
