// The whole sheet column by column, for what looks at all of it at every moment.
#include "sim/record/data.hpp"

namespace snagmap {

ColumnLayout RemovalRecord::columns() const {
  const ColumnGrid& grid = data_->grid;
  return {grid.nx, grid.ny, grid.dx, grid.dy};
}

void RemovalRecord::append_runs(int i, int j, std::vector<FoamRun>& out) const {
  const ColumnGrid& grid = data_->grid;
  const std::size_t first = out.size();
  float at = static_cast<float>(grid.box.low.z);
  const auto add = [&](float to, std::uint32_t move) {
    if (!(to > at))
      return;
    if (out.size() > first && out.back().move == move && out.back().high_mm == at)
      out.back().high_mm = to;
    else
      out.push_back({at, to, move});
    at = to;
  };
  const Tile& tile = data_->tiles[static_cast<std::size_t>(grid.tile_of(i, j))];
  if (!tile.offset.empty()) {
    const auto cell = static_cast<std::size_t>(ColumnGrid::cell_of(i, j));
    for (std::uint32_t n = tile.offset[cell]; n < tile.offset[cell + 1]; ++n) {
      const CutInterval& cut = tile.cuts[n];
      add(cut.low, kNever);
      if (cut.stamp > 0)
        add(cut.high, cut.stamp - 1);
      else
        at = cut.high; // a pocket the sheet came with: no foam to have a run
    }
  }
  add(static_cast<float>(grid.box.high.z), kNever);
}

} // namespace snagmap
