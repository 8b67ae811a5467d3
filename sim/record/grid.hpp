// Laying the columns over the sheet and sorting the sweeps into tiles.
#pragma once

#include "sim/record/data.hpp"

namespace snagmap {

/// Faults: a voxel size or sheet that is no size; more columns than the record can number.
Outcome<ColumnGrid> grid_over(const Box3& box, double voxel_mm);

/// Slices of the sheet's height: they begin at the levels most moves run at, and none is thicker than a few
/// mm. Only the speed of looking depends on them.
void choose_slices(RecordData& data);

/// Sweeps of each tile in order, as offsets into one list: a sweep goes to every tile its box overlaps.
struct Bins {
  std::vector<std::size_t> offset;
  std::vector<std::uint32_t> sweeps;
};
Bins bin_sweeps(const RecordData& data);

} // namespace snagmap
