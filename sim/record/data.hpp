// What the record holds: tiles of columns, each column its cut intervals, each block the moves that pass it.
#pragma once

#include "sim/record/record.hpp"
#include "sim/swept/profile.hpp"
#include "sim/swept/sweep.hpp"

#include <algorithm>
#include <cstdint>
#include <vector>

namespace snagmap {

constexpr int kTileShift = 6;
constexpr int kTileSide = 1 << kTileShift; ///< columns along one side of a tile
constexpr int kTileColumns = kTileSide * kTileSide;

/// A part of a column that is air from a moment on; parts of a column never overlap. The stamp is that
/// moment: the removing move plus one, 0 for pockets the sheet came with.
struct CutInterval {
  float low = 0, high = 0; ///< mm, work coordinates
  std::uint32_t stamp = 0;
};
static_assert(sizeof(CutInterval) == 12);

/// Sweeps first .. first+count-1, all passing one block with their flutes somewhere in the bounds. The list
/// only saves looking at sweeps in vain, so bounds are coarse: codes that err outwards.
struct BlockRun {
  std::uint32_t first = 0, count = 0;
  std::uint16_t low = 0, high = 0;             ///< ColumnGrid::height_code
  std::uint8_t x0 = 0, y0 = 0, x1 = 0, y1 = 0; ///< BlockBox::code (near.hpp), of the flutes in plan
};
static_assert(sizeof(BlockRun) == 16);

/// The first cut of a column that ends over a height, `last` where none does.
inline const CutInterval* first_over(const CutInterval* cut, const CutInterval* last, float z) {
  constexpr std::ptrdiff_t kFew = 16;
  if (last - cut > kFew)
    return std::partition_point(cut, last, [z](const CutInterval& one) { return one.high <= z; });
  while (cut != last && cut->high <= z)
    ++cut;
  return cut;
}

/// Bounds of kGroup runs that follow each other, and of kGroup such groups: where hundreds of layers lie on
/// one place, what misses all of a group is passed over at once.
struct RunGroup {
  std::uint16_t low = 0xffff, high = 0;
  std::uint8_t x0 = 0xff, y0 = 0xff, x1 = 0, y1 = 0;
};
constexpr std::size_t kGroup = 16;

/// A slice of a block, all its columns together: whole foam before moment `first`, all air from `last` on.
struct BlockSlice {
  std::uint32_t first = kNever, last = 0;
};

struct Tile {
  std::vector<std::uint32_t> offset;     ///< kTileColumns + 1, or empty when nothing was cut
  std::vector<CutInterval> cuts;         ///< by column (x fastest), from the bottom up
  std::vector<BlockSlice> slices;        ///< by block, then from the bottom up; or empty
  std::vector<std::uint32_t> run_offset; ///< by block, or empty
  std::vector<BlockRun> runs;            ///< by block, in order of the sweeps
  std::vector<RunGroup> groups, supers;  ///< of each kGroup, and each kGroup * kGroup, of the tile's runs
};

/// Columns over the sheet. They tile it exactly, so their spacing is the voxel rounded to a whole number.
struct ColumnGrid {
  Box3 box;
  int nx = 0, ny = 0;    ///< columns
  double dx = 0, dy = 0; ///< mm
  int tiles_x = 0, tiles_y = 0;
  int block_shift = 3; ///< a block is 1 << shift columns square, near 4 mm: the scale of a cutter
  double x_of(int i) const { return box.low.x + (i + 0.5) * dx; }
  double y_of(int j) const { return box.low.y + (j + 0.5) * dy; }
  std::vector<float> slice_low;          ///< heights where slices begin; the sheet's top ends the last, mm
  std::vector<std::uint16_t> slice_hint; ///< slice at each kHint_mm of height, to start the search
  static constexpr double kHint_mm = 0.5;
  int slices() const { return static_cast<int>(slice_low.size()); }
  int slice_at(float z) const {
    const int step = static_cast<int>((z - slice_low[0]) * static_cast<float>(1 / kHint_mm));
    int k =
        slice_hint[static_cast<std::size_t>(std::clamp(step, 0, static_cast<int>(slice_hint.size()) - 1))];
    while (k > 0 && slice_low[static_cast<std::size_t>(k)] > z)
      --k;
    while (k + 1 < slices() && slice_low[static_cast<std::size_t>(k) + 1] <= z)
      ++k;
    return k;
  }
  int blocks_a_side() const { return kTileSide >> block_shift; }
  double codes_a_mm = 0; ///< 65535ths of the sheet's height
  double block_x_mm() const { return dx * (1 << block_shift); }
  double block_y_mm() const { return dy * (1 << block_shift); }
  /// Height over the underside in 65535ths of the sheet, rounded down; the ends stand for all beyond.
  std::uint16_t height_code(double z) const {
    return static_cast<std::uint16_t>(std::clamp((z - box.low.z) * codes_a_mm, 0.0, 65535.0));
  }
  /// Column that holds the place; false outside the sheet.
  bool column_at(Vec2 p, int& i, int& j) const {
    const double x = (p.x - box.low.x) / dx, y = (p.y - box.low.y) / dy;
    if (!(x >= 0 && y >= 0 && x <= nx && y <= ny))
      return false;
    i = std::min(static_cast<int>(x), nx - 1);
    j = std::min(static_cast<int>(y), ny - 1);
    return true;
  }
  int tile_of(int i, int j) const { return (j >> kTileShift) * tiles_x + (i >> kTileShift); }
  static int cell_of(int i, int j) { return ((j & (kTileSide - 1)) << kTileShift) | (i & (kTileSide - 1)); }
};

/// Sides of a sheet that came as a closed mesh, and which of them each block sees.
struct StockMesh {
  std::vector<Vec3> points;
  std::vector<std::array<std::uint32_t, 3>> triangles;
  std::vector<std::uint32_t> block_offset, block_triangles; ///< by block of the whole grid, row by row
};

struct RecordData {
  ColumnGrid grid;
  double voxel_mm = 0;
  std::vector<Body> bodies;
  Sweeps sweeps;
  std::vector<Tile> tiles;
  StockMesh mesh; ///< empty for a plain box
  Moment moves = 0;
  double cut_s = 0;
  std::uint64_t key = 0;                           ///< of the job it was cut for
  std::vector<std::vector<ProfilePiece>> profiles; ///< of the cutters, to make the bodies again
  std::vector<double>
      counted_mm3; ///< removed by each move, counted by columns: coarse by half a column sideways
  std::vector<Touch> touches;
};
struct RemovalRecord::Data : RecordData {
  Data() = default;
  explicit Data(RecordData&& data) : RecordData(std::move(data)) {}
};

/// A contact thinner than this is a tangency, not a touch.
constexpr double kTangency_mm = 0.05;

} // namespace snagmap
