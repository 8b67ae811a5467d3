// How much foam each move removes, from the swept bodies, whatever the voxel.
#pragma once

#include "sim/record/record.hpp"

#include <vector>

namespace snagmap {

/// Foam removed by each move, mm3 (removed.hpp says how well it is known). A pass over the moves in parallel;
/// the same bits on any number of threads.
std::vector<double> removed_mm3(const RemovalRecord& record);
/// Whether any move removes foam. Asks the columns first; a sliver between them costs the pass.
bool removes_foam(const RemovalRecord& record);

} // namespace snagmap
