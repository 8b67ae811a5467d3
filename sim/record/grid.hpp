// Laying the columns over the sheet and sorting the sweeps into tiles.
#pragma once

#include "sim/record/data.hpp"

namespace snagmap {

/// Faults: a voxel size or sheet that is no size; more columns than the record can number.
Outcome<ColumnGrid> grid_over(const Box3& box, double voxel_mm);

/// Slices of the sheet's height: they begin at the levels most moves run at, and none is thicker than a few
/// mm. Only the speed of looking depends on them.
void choose_slices(RecordData& data);

/// For each sweep the height, mm, from which on up earlier sweeps of the same way have taken all it can take:
/// the layers of a pocket follow each other, and only the lowest part of each is needed to know the stock.
/// Only the speed of looking depends on it.
std::vector<float> fresh_heights(const RecordData& data);

/// Level sweeps of one flat cutter along one way lie on each other: the latest stands for those before it.
struct SweepStacks {
  std::vector<std::uint32_t>
      next; ///< the next sweep of the same way whose heights hold this one's; kNever: none
  std::vector<double> low,
      high; ///< heights of the sweep and all it stands for, mm; low = high: not in a stack
};
SweepStacks stacks_of(const RecordData& data);

/// Sweeps of each tile in order, as offsets into one list: a sweep goes to every tile its box overlaps.
struct Bins {
  std::vector<std::size_t> offset;
  std::vector<std::uint32_t> sweeps;
};
Bins bin_sweeps(const RecordData& data);

} // namespace snagmap
