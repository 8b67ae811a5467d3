// Growth, scale, queries, files and Ctrl-C of the removal record.
#pragma once

#include "jobs.hpp"

namespace snagmap::bench {

/// Time over four doublings of moves and removed volume together.
void growth(double voxel);
/// 600 x 400 x 75 mm at 0.25 mm, half a million moves.
void billion();
/// Looks, engagement, maps, files.
void queries(const Job& job, double voxel);
/// From Ctrl-C to the end of the process, at its stages.
void stopping();

} // namespace snagmap::bench
