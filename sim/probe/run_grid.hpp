// The sheet as runs of foam: what the search for loose pieces walks, free of how the record stores its cuts.
#pragma once

#include "models/base/vec.hpp"
#include "sim/record/record.hpp"

#include <cstdint>
#include <vector>

namespace snagmap {

/// Columns of the whole sheet, x fastest, each its runs from the bottom up: never overlapping, and neighbours
/// that touch never share a move. Between runs there may be air the sheet came with.
struct RunGrid {
  int nx = 0, ny = 0;
  double dx_mm = 0, dy_mm = 0;
  Vec2 corner_mm;                     ///< lower left corner of column 0
  float underside_mm = 0, top_mm = 0; ///< of the sheet, work coordinates
  std::uint32_t moves = 0;            ///< of the program
  std::vector<std::uint32_t> offset;  ///< nx * ny + 1
  std::vector<FoamRun> runs;
  std::size_t column(int i, int j) const { return static_cast<std::size_t>(j) * nx + i; }
  const FoamRun* begin(std::size_t c) const { return runs.data() + offset[c]; }
  const FoamRun* end(std::size_t c) const { return runs.data() + offset[c + 1]; }
  double cell_mm2() const { return dx_mm * dy_mm; }
  Vec2 centre_mm(std::size_t c) const {
    return {corner_mm.x + (c % nx + 0.5) * dx_mm, corner_mm.y + (c / nx + 0.5) * dy_mm};
  }
};

/// The record's runs, gathered in parallel; the same on any thread count. O(columns + runs).
RunGrid run_grid(const RemovalRecord& record);

/// The same sheet with a skin that counts as cut: foam resting on the table leaves, for this view, as soon as
/// the foam right above it within `skin_mm` of the underside is gone. Node for node the same runs, only
/// `move` differs. `changed` tells whether any run did.
RunGrid without_skin(const RunGrid& grid, double skin_mm, bool& changed);

} // namespace snagmap
