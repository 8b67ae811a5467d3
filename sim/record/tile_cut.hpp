// Cutting one tile: its moves in order, each column falling or hollowed, every new cut written to one log.
#pragma once

#include "sim/record/data.hpp"

#include <atomic>

namespace snagmap {

/// What a tile leaves behind besides its record.
struct TileYield {
  std::vector<double> removed_mm3;  ///< by the tile's moves, in their order
  std::vector<Touch> touches;
};

/// Scratch of one thread, used for one tile after the other.
class TileCutter {
public:
  explicit TileCutter(const RecordData& data) : data_(data) {}
  /// Cuts `moves` (ascending) into the tile; stops early, leaving it unfinished, when `stop` is set.
  /// `done` counts moves as they are cut.
  void run(int tile, const std::uint32_t* first, const std::uint32_t* last, Tile& out, TileYield& yield,
           const std::atomic<bool>& stop, std::atomic<std::size_t>& done);

private:
  struct LogEntry {
    float low, high;
    std::uint32_t move, cell;
  };
  struct Gap {  // air below the top of a column
    float low, high;
    std::int32_t next;
  };
  struct RunEntry {
    MoveRun run;
    std::uint32_t block;
  };

  double cut_move(std::uint32_t move, TileYield& yield);
  void touch_move(std::uint32_t move, const BodyZone& zone, TileYield& yield);
  /// Calls visit(row, first, last) for the columns of the tile under the disc's way.
  template <class Visit> void for_spans(const Sweep& sweep, double radius, Visit visit) const;
  /// Removes low..high of a cell; returns the length of foam that was there.
  float cut_cell(std::uint32_t cell, float low, float high, std::uint32_t move) {
    const float top = top_[cell];
    if (low >= top) return 0;
    if (high >= top && !hollow_) {
      log_.push_back({low, top, move, cell});
      top_[cell] = low;
      return top - low;
    }
    return cut_hollow(cell, low, high, move);
  }
  float cut_hollow(std::uint32_t cell, float low, float high, std::uint32_t move);
  float foam_within(std::uint32_t cell, float low, float high) const;
  void index_move(std::uint32_t move);
  void finish(Tile& out);
  void slice(Tile& out) const;

  const RecordData& data_;
  int i0_ = 0, j0_ = 0, columns_ = 0, rows_ = 0;  // of the tile
  float floor_ = 0;
  bool hollow_ = false;             // some column of the tile has air below foam
  std::vector<float> top_;          // above it the column is clear
  std::vector<std::int32_t> gap_;   // first gap below the top, from above; -1: none
  std::vector<Gap> gaps_;
  std::vector<LogEntry> log_;
  std::vector<RunEntry> runs_;
  std::vector<std::int32_t> last_run_;
};

} // namespace snagmap
