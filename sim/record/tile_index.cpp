#include "sim/record/near.hpp"
#include "sim/record/tile_cut.hpp"

namespace snagmap {
namespace {

constexpr std::uint32_t kRunMost = 16;  ///< sweeps in a run: longer ones would not be passed over often
constexpr double kWallMargin_mm = 1e-3; ///< a wall on a block's edge belongs to both blocks

struct RunEntry {
  BlockRun run;
  std::uint32_t block;
};

/// Runs of sweeps by block while they grow; one a thread.
struct RunLog {
  std::vector<RunEntry> runs;
  std::vector<std::int32_t> last; // of each block; -1: none
};

void log_sweep(const RecordData& data, float fresh, int i0, int j0, std::uint32_t index, RunLog& log) {
  const Sweep sweep = data.sweeps[index];
  const Body& body = data.bodies[sweep.body];
  const ColumnGrid& grid = data.grid;
  const Box3& box = grid.box;
  const double low = std::min(sweep.za, sweep.zb) + body.flute_low;
  const double high = std::min(std::max(sweep.za, sweep.zb) + body.flute_high, static_cast<double>(fresh));
  if (high <= low)
    return; // took nothing that was not gone
  if (low >= box.high.z || high <= box.low.z)
    return;
  const Box2 plan = plan_box(sweep, data.sweeps);
  const double reach = body.flute_radius + kWallMargin_mm;
  const Vec2 rim{reach, reach};
  const BlockBox reached(grid, plan.low - rim, plan.high + rim);
  const int side = grid.blocks_a_side(), tile_x = i0 >> grid.block_shift, tile_y = j0 >> grid.block_shift;
  const int bx0 = std::max(BlockBox::block(reached.x0) - tile_x, 0),
            by0 = std::max(BlockBox::block(reached.y0) - tile_y, 0);
  const int bx1 = std::min(BlockBox::block(reached.x1) - tile_x, side - 1),
            by1 = std::min(BlockBox::block(reached.y1) - tile_y, side - 1);
  const std::uint16_t code_low = grid.height_code(low), code_high = grid.height_code(high);
  const bool test = sweep.kind == SweepKind::line && bx1 - bx0 > 1 && by1 - by0 > 1;
  const double x0 = box.low.x + i0 * grid.dx, y0 = box.low.y + j0 * grid.dy;
  const double width = grid.block_x_mm(), depth = grid.block_y_mm();
  const Vec2 e = sweep.b - sweep.a;
  const double l2 = dot(e, e), far = test ? reach + 0.5 * std::hypot(width, depth) : 0;
  for (int by = by0; by <= by1; ++by) {
    const std::uint8_t y_low = BlockBox::code(reached.y0, tile_y + by),
                       y_high = BlockBox::code(reached.y1, tile_y + by);
    for (int bx = bx0; bx <= bx1; ++bx) {
      if (test) { // a slanting way leaves the corners of its box alone
        const Vec2 c{x0 + (bx + 0.5) * width - sweep.a.x, y0 + (by + 0.5) * depth - sweep.a.y};
        const double s = std::clamp(dot(e, c) / l2, 0.0, 1.0);
        const Vec2 off = c - s * e;
        if (dot(off, off) > far * far)
          continue;
      }
      const std::uint8_t x_low = BlockBox::code(reached.x0, tile_x + bx),
                         x_high = BlockBox::code(reached.x1, tile_x + bx);
      const std::size_t b = static_cast<std::size_t>(by * side + bx);
      if (log.last[b] >= 0) {
        BlockRun& run = log.runs[static_cast<std::size_t>(log.last[b])].run;
        if (run.first + run.count == index && run.count < kRunMost && run.low == code_low &&
            run.high == code_high) {
          ++run.count;
          run.x0 = std::min(run.x0, x_low);
          run.y0 = std::min(run.y0, y_low);
          run.x1 = std::max(run.x1, x_high);
          run.y1 = std::max(run.y1, y_high);
          continue;
        }
      }
      log.last[b] = static_cast<std::int32_t>(log.runs.size());
      log.runs.push_back(
          {{index, 1, code_low, code_high, x_low, y_low, x_high, y_high}, static_cast<std::uint32_t>(b)});
    }
  }
}

/// What one block of columns leaves in its slices.
class BlockSlicer {
public:
  BlockSlicer(const ColumnGrid& grid, BlockSlice* slices)
      : grid_(grid), low_(grid.slice_low.data()), count_(grid.slices()), slices_(slices),
        above_(static_cast<float>(grid.box.high.z)) {}
  /// The cuts of a column, from the bottom up. Foam under and over them is kept as two heights of the block.
  void add(const CutInterval* cut, const CutInterval* last) {
    if (cut == last) {
      whole_ = true;
      return;
    }
    below_ = std::max(below_, cut->low);
    above_ = std::min(above_, (last - 1)->high);
    int k = grid_.slice_at(cut->low);
    float at = cut->low;
    for (; cut != last; ++cut) {
      if (cut->low > at)
        k = mark(k, at, cut->low, [](BlockSlice& slice) { slice.last = kNever; });
      k = mark(k, cut->low, cut->high, [stamp = cut->stamp](BlockSlice& slice) {
        slice.first = std::min(slice.first, stamp);
        slice.last = std::max(slice.last, stamp);
      });
      at = cut->high;
    }
  }
  void finish() {
    const float top = static_cast<float>(grid_.box.high.z);
    for (int k = 0; k < count_; ++k)
      if (whole_ || low_[k] < below_ || (above_ < top && (k + 1 == count_ || low_[k + 1] > above_)))
        slices_[k].last = kNever;
  }

private:
  /// Calls visit(slice) for those that from..to touches, `k` at or below the first; returns the last.
  template <class Visit> int mark(int k, float from, float to, Visit visit) {
    while (k + 1 < count_ && low_[k + 1] <= from)
      ++k;
    for (;; ++k) {
      visit(slices_[k]);
      if (k + 1 >= count_ || low_[k + 1] >= to)
        return k;
    }
  }

  const ColumnGrid& grid_;
  const float* low_;
  int count_;
  BlockSlice* slices_;
  bool whole_ = false; // some column is all foam
  float below_ = -3.4e38f, above_;
};

void slice_blocks(const ColumnGrid& grid, int columns, int rows, Tile& out) {
  const int side = grid.blocks_a_side(), size = 1 << grid.block_shift, count = grid.slices();
  out.slices.assign(static_cast<std::size_t>(side * side * count), {});
  for (int block = 0; block < side * side; ++block) {
    BlockSlicer slicer(grid, out.slices.data() + block * count);
    const int i0 = block % side * size, j0 = block / side * size;
    for (int row = j0; row < std::min(j0 + size, rows); ++row)
      for (int i = i0; i < std::min(i0 + size, columns); ++i) {
        const std::size_t cell = static_cast<std::size_t>(row * kTileSide + i);
        slicer.add(out.cuts.data() + out.offset[cell], out.cuts.data() + out.offset[cell + 1]);
      }
    slicer.finish();
  }
}

} // namespace

void group_runs(Tile& tile) {
  const auto joined = [](const auto& bounds) {
    std::vector<RunGroup> groups(bounds.size() / kGroup);
    for (std::size_t n = 0; n < groups.size() * kGroup; ++n) {
      RunGroup& group = groups[n / kGroup];
      group.low = std::min(group.low, bounds[n].low), group.high = std::max(group.high, bounds[n].high);
      group.x0 = std::min(group.x0, bounds[n].x0), group.x1 = std::max(group.x1, bounds[n].x1);
      group.y0 = std::min(group.y0, bounds[n].y0), group.y1 = std::max(group.y1, bounds[n].y1);
    }
    return groups;
  };
  tile.groups = joined(tile.runs);
  tile.supers = joined(tile.groups);
}

void index_tile(const RecordData& data, const std::vector<float>& fresh, int tile, SweepList list,
                Tile& out) {
  const ColumnGrid& grid = data.grid;
  const int i0 = (tile % grid.tiles_x) << kTileShift, j0 = (tile / grid.tiles_x) << kTileShift;
  if (!out.cuts.empty())
    slice_blocks(grid, std::min(kTileSide, grid.nx - i0), std::min(kTileSide, grid.ny - j0), out);
  static thread_local RunLog log;
  const std::size_t blocks = static_cast<std::size_t>(grid.blocks_a_side() * grid.blocks_a_side());
  log.runs.clear();
  log.last.assign(blocks, -1);
  for (const std::uint32_t* n = list.first; n != list.last; ++n)
    log_sweep(data, fresh[*n], i0, j0, *n, log);
  if (log.runs.empty())
    return;
  out.run_offset.assign(blocks + 1, 0);
  for (const RunEntry& entry : log.runs)
    ++out.run_offset[entry.block + 1];
  for (std::size_t b = 0; b < blocks; ++b)
    out.run_offset[b + 1] += out.run_offset[b];
  std::vector<std::uint32_t> at(out.run_offset.begin(), out.run_offset.end() - 1);
  out.runs.resize(log.runs.size());
  for (const RunEntry& entry : log.runs)
    out.runs[at[entry.block]++] = entry.run;
  group_runs(out);
}

} // namespace snagmap
