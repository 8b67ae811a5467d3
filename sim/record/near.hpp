// Which sweeps pass near a place: the blocks' lists, walked once for everything that asks.
#pragma once

#include "sim/record/data.hpp"

namespace snagmap {

/// Foam thinner than this, along a ray or an upright line, is a cusp or a rounding between two moves: arcs
/// are met within a tenth of it.
constexpr double kSliver_mm = 0.01;

/// A box in plan, in 256ths of a block from the sheet's corner, rounded down: boxes that meet still do.
struct BlockBox {
  int x0, x1, y0, y1;
  BlockBox(const ColumnGrid& grid, Vec2 low, Vec2 high) {
    const double x_a_mm = 256 / grid.block_x_mm(), y_a_mm = 256 / grid.block_y_mm();
    x0 = floor_of((low.x - grid.box.low.x) * x_a_mm), x1 = floor_of((high.x - grid.box.low.x) * x_a_mm);
    y0 = floor_of((low.y - grid.box.low.y) * y_a_mm), y1 = floor_of((high.y - grid.box.low.y) * y_a_mm);
  }
  /// The part of a coordinate within block n: a byte, that of the block's edge for what is outside.
  static std::uint8_t code(int at, int n) {
    return static_cast<std::uint8_t>(std::clamp(at - 256 * n, 0, 255));
  }
  static int block(int at) { return at >> 8; }
};

/// Blocks that a box touches; those at the sheet's rim when it is outside.
struct BlockRange {
  int x0, x1, y0, y1;
  BlockRange(const ColumnGrid& grid, const BlockBox& box) {
    const int last_x = (grid.nx - 1) >> grid.block_shift, last_y = (grid.ny - 1) >> grid.block_shift;
    x0 = std::clamp(BlockBox::block(box.x0), 0, last_x), x1 = std::clamp(BlockBox::block(box.x1), 0, last_x);
    y0 = std::clamp(BlockBox::block(box.y0), 0, last_y), y1 = std::clamp(BlockBox::block(box.y1), 0, last_y);
  }
};

/// Fills in the groups of a tile's runs.
void group_runs(Tile& tile);

/// Calls visit(n) for the sweeps before `done` whose flutes may come into the box; once for each block that
/// both touch.
template <class Visit>
void for_sweeps_near(const RecordData& data, const Box3& box, std::uint32_t done, const Visit& visit) {
  const ColumnGrid& grid = data.grid;
  const BlockBox plan(grid, xy(box.low), xy(box.high));
  const BlockRange blocks(grid, plan);
  const int side_bits = kTileShift - grid.block_shift, side = 1 << side_bits;
  const std::uint16_t z0 = grid.height_code(box.low.z), z1 = grid.height_code(box.high.z);
  for (int y = blocks.y0; y <= blocks.y1; ++y) {
    for (int x = blocks.x0; x <= blocks.x1; ++x) {
      const Tile& tile =
          data.tiles[static_cast<std::size_t>((y >> side_bits) * grid.tiles_x + (x >> side_bits))];
      if (tile.runs.empty())
        continue;
      const std::uint8_t x0 = BlockBox::code(plan.x0, x), x1 = BlockBox::code(plan.x1, x),
                         y0 = BlockBox::code(plan.y0, y), y1 = BlockBox::code(plan.y1, y);
      const std::size_t b = static_cast<std::size_t>((y & (side - 1)) * side + (x & (side - 1)));
      const auto misses = [&](const auto& bounds) {
        return z1 < bounds.low || z0 > bounds.high || x1 < bounds.x0 || x0 > bounds.x1 || y1 < bounds.y0 ||
               y0 > bounds.y1;
      };
      const std::size_t last = tile.run_offset[b + 1];
      for (std::size_t k = tile.run_offset[b]; k < last && tile.runs[k].first < done;) {
        constexpr std::size_t kSuper = kGroup * kGroup;
        if (k % kGroup == 0) {
          if (k % kSuper == 0 && k + kSuper <= last && misses(tile.supers[k / kSuper])) {
            k += kSuper;
            continue;
          }
          if (k + kGroup <= last && misses(tile.groups[k / kGroup])) {
            k += kGroup;
            continue;
          }
        }
        const BlockRun& run = tile.runs[k++];
        if (misses(run))
          continue;
        const std::uint32_t end = std::min(run.first + run.count, done);
        for (std::uint32_t n = run.first; n < end; ++n)
          visit(n);
      }
    }
  }
}

} // namespace snagmap
