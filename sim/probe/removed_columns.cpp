// Short moves among hundreds of others, as a relief carving has them: what they remove is read from the
// columns.
#include "sim/probe/removed.hpp"
#include "sim/record/near.hpp"

namespace snagmap {
namespace {

constexpr double kShortMove_radii = 1.0 / 16, kStepOver_radii = 0.25;
// Earlier sweeps in one block: lines across all of them cost milliseconds, most where heights change along
// them.
constexpr std::uint32_t kCrowdLevel = 600, kCrowdSloped = 30;

constexpr std::uint32_t kCrest = 16; // moves before and after

} // namespace

/// A move much shorter than the cutter where hundreds have passed: there lines would cost the square of the
/// program's density, and the columns' rounding evens out along the way.
bool RemovedBy::crowded() const {
  if (sweep_.kind != SweepKind::line)
    return false;
  const double length_radii = norm(sweep_.b - sweep_.a) / data_.bodies[sweep_.body].flute_radius;
  if (length_radii > kStepOver_radii)
    return false;
  const std::uint32_t move = data_.sweeps.move_of(index_);
  if (data_.sweeps.count_at(move + 1) - data_.sweeps.count_at(move) != 1)
    return false;
  const ColumnGrid& grid = data_.grid;
  int i = 0, j = 0;
  if (!grid.column_at(sweep_.a, i, j))
    return false;
  const Tile& tile = data_.tiles[static_cast<std::size_t>(grid.tile_of(i, j))];
  if (tile.runs.empty())
    return false;
  const int side = kTileSide - 1, shift = grid.block_shift;
  const auto block =
      static_cast<std::size_t>(((j & side) >> shift) * grid.blocks_a_side() + ((i & side) >> shift));
  bool slopes = false; // a carving's crests are level for a few moves
  const std::size_t last = std::min<std::size_t>(index_ + kCrest, data_.sweeps.size() - 1);
  for (std::size_t n = index_ > kCrest ? index_ - kCrest : 0; n <= last && !slopes; ++n) {
    const Sweep near = data_.sweeps[n];
    slopes = near.kind == SweepKind::line && !is_level(near);
  }
  const std::uint32_t crowd = slopes ? kCrowdSloped : kCrowdLevel;
  // The step from row to row is longer, and dearer among as many.
  const std::uint32_t most = length_radii > kShortMove_radii ? 10 * crowd : crowd;
  std::uint32_t passed = 0;
  for (std::uint32_t n = tile.run_offset[block];
       n < tile.run_offset[block + 1] && tile.runs[n].first < index_ && passed <= most; ++n)
    passed += std::min(tile.runs[n].count, index_ - tile.runs[n].first);
  return passed > most;
}

/// The parts of the columns that this move took, each leaving over its whole length.
void RemovedBy::take_columns() {
  const ColumnGrid& grid = data_.grid;
  const std::uint32_t stamp = data_.sweeps.move_of(index_) + 1;
  const Box2 plan = plan_box(sweep_, data_.sweeps);
  const double r = data_.bodies[sweep_.body].flute_radius, length = norm(sweep_.b - sweep_.a);
  const auto column = [](double at, double low, double step, int count) {
    return std::clamp(static_cast<int>(std::floor((at - low) / step)), 0, count - 1);
  };
  const int i0 = column(plan.low.x - r, grid.box.low.x, grid.dx, grid.nx),
            i1 = column(plan.high.x + r, grid.box.low.x, grid.dx, grid.nx),
            j0 = column(plan.low.y - r, grid.box.low.y, grid.dy, grid.ny),
            j1 = column(plan.high.y + r, grid.box.low.y, grid.dy, grid.ny);
  for (int j = j0; j <= j1; ++j)
    for (int i = i0; i <= i1; ++i) {
      const Tile& tile = data_.tiles[static_cast<std::size_t>(grid.tile_of(i, j))];
      if (tile.offset.empty())
        continue;
      const auto cell = static_cast<std::size_t>(ColumnGrid::cell_of(i, j));
      for (std::uint32_t n = tile.offset[cell]; n < tile.offset[cell + 1]; ++n)
        if (const CutInterval& cut = tile.cuts[n]; cut.stamp == stamp)
          out_.push_back({0, 1, cut.low, cut.high, grid.dx * grid.dy, length, 0});
    }
}

} // namespace snagmap
