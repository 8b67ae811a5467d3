// Cutting one tile: its sweeps in order, each column falling or hollowed, every new cut written to one log.
#pragma once

#include "sim/record/data.hpp"
#include "sim/swept/swept.hpp"

#include <atomic>
#include <cstring>

namespace snagmap {

/// The sweeps of a tile, in order.
struct SweepList {
  const std::uint32_t* first = nullptr;
  const std::uint32_t* last = nullptr;
};

/// What a tile leaves behind besides its record.
struct TileYield {
  std::vector<double> removed_mm3; ///< by the tile's sweeps, in their order
  std::vector<Touch> touches;      ///< one for each sweep and part at most, the deepest
};

/// Scratch of one thread, used for one tile after the other.
class TileCutter {
public:
  /// `fresh`: see fresh_heights (layers.hpp).
  TileCutter(const RecordData& data, const std::vector<float>& fresh) : data_(data), fresh_(fresh) {}
  /// Cuts the sweeps into the tile; stops early, leaving it unfinished, when `stop` is set. `done` counts
  /// them.
  void run(int tile, SweepList list, Tile& out, TileYield& yield, const std::atomic<bool>& stop,
           std::atomic<std::size_t>& done);

private:
  struct LogEntry {
    float low, high;
    std::uint32_t stamp, cell;
  };
  struct Gap { // air below the top of a column
    float low, high;
    std::int32_t next;
  };

  void start(int tile);
  void hollow_out_mesh();
  double cut_part(const Sweep& sweep, std::uint32_t move, const BodyPart& part, TileYield& yield);
  void touch_part(const Sweep& sweep, std::uint32_t move, const BodyPart& part, TileYield& yield);
  void note_rapid(const Sweep& sweep, const BodyPart& part, std::uint32_t cell, double length,
                  Touch& touch) const;
  /// Calls visit(cell) for the tile's columns under the disc's way whose foam stands over `level`.
  template <class Visit> void for_cells(const Sweep& sweep, double radius, float level, Visit visit) const;
  static constexpr int kLook = 8; // columns looked at together
  /// True when foam stands over `level` in one of the kLook columns from `cell` on.
  bool any_over(std::uint32_t cell, float level) const {
    using Four = float __attribute__((vector_size(16)));
    using Two = long long __attribute__((vector_size(16)));
    Four a, b;
    std::memcpy(&a, &top_[cell], sizeof a);
    std::memcpy(&b, &top_[cell + 4], sizeof b);
    const Four levels{level, level, level, level};
    const Two over = reinterpret_cast<Two>((a > levels) | (b > levels));
    return (over[0] | over[1]) != 0;
  }
  Vec2 place_of(std::uint32_t cell) const {
    return {data_.grid.x_of(i0_ + static_cast<int>(cell) % kTileSide),
            data_.grid.y_of(j0_ + static_cast<int>(cell) / kTileSide)};
  }
  /// Removes low..high of a cell; returns the length of foam that was there.
  float cut_cell(std::uint32_t cell, float low, float high, std::uint32_t stamp) {
    const float top = top_[cell];
    if (low >= top)
      return 0;
    if (high >= top && !hollow_) {
      log_.push_back({low, top, stamp, cell});
      top_[cell] = low;
      return top - low;
    }
    return cut_hollow(cell, low, high, stamp);
  }
  float cut_hollow(std::uint32_t cell, float low, float high, std::uint32_t stamp);
  float foam_within(std::uint32_t cell, float low, float high) const;
  void finish(Tile& out);

  const RecordData& data_;
  const std::vector<float>& fresh_;
  int i0_ = 0, j0_ = 0, columns_ = 0, rows_ = 0; // of the tile
  float floor_ = 0;
  bool hollow_ = false;           // some column of the tile has air below foam
  std::vector<float> top_;        // above it the column is clear; kLook more than there are columns
  std::vector<std::int32_t> gap_; // first gap below the top, from above; -1: none
  std::vector<Gap> gaps_;
  std::vector<LogEntry> log_;
};

/// Fills in what a look needs besides the columns: slices of the blocks, and the sweeps that pass each.
void index_tile(const RecordData& data, const std::vector<float>& fresh, int tile, SweepList list, Tile& out);

} // namespace snagmap
