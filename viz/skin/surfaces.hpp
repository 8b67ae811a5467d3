// The skin of the foam at a moment: true walls and floors from the removal record, sharp corners kept.
//
// Dual contouring (Ju, Losasso, Schaefer, Warren 2002, SIGGRAPH) on a grid whose nodes are columns of the
// record. Voxels only tell which grid edges cross the skin; where they cross is exact: heights from the
// columns' intervals, walls from the record's horizontal look. Levels lie between the program's own depths,
// so a flat floor costs no levels and meets its wall in a sharp edge.
#pragma once

#include "sim/preview/preview.hpp"
#include "viz/skin/mesh.hpp"

#include <cstdint>
#include <functional>
#include <optional>
#include <vector>

namespace snagmap {

/// What the mesher asks about the foam. Every function may be called from any thread.
struct FoamField {
  Box3 box;                                      ///< no foam outside it
  std::vector<double> xs_mm, ys_mm;              ///< node columns inside the box, rising
  std::vector<double> levels_mm;                 ///< node heights, rising; outermost outside the box
  std::function<std::vector<Slab>(Vec2)> column; ///< foam in a node column, from the bottom up
  std::function<double(Vec3 from, Vec2 dir, double cap_mm)> gap; ///< air to the first foam; cap when none
  bool upright_walls = false; ///< every wall stands upright: one look tells it at all heights beside
  bool level_floors = false;  ///< every floor lies level
  std::function<bool(Vec2 low, Vec2 high)> keep_fine; ///< see SkinOptions
};

/// A tile's piece of the skin. `keys` name each vertex across tiles, so pieces join without gaps; those that
/// only this tile has are kAlone.
constexpr std::uint64_t kAlone = ~std::uint64_t{0};
struct SkinTile {
  Mesh mesh;
  std::vector<std::uint64_t> keys;
};

struct TileRange {
  int x0 = 0, x1 = 0, y0 = 0, y1 = 0; ///< cells
};

/// Skin over the cells of a range. Cost: about 1 us a cell that the skin crosses, less on floors not kept
/// fine.
SkinTile skin_tile(const FoamField& field, const TileRange& range);
/// Joins tiles; where every tile is given the result is a closed manifold.
Mesh joined(const std::vector<SkinTile>& tiles);

struct SkinOptions {
  double cell_mm = 0;    ///< grid spacing in plan, rounded to whole voxels; 0: one voxel
  double tallest_mm = 0; ///< greatest spacing of levels; 0: sixteen cells, or one where walls are not upright
  int tile_cells = 48;
  /// Foam beyond a line in plan is left out: where dot(p, normal) > offset_mm.
  struct Cut {
    Vec2 normal;
    double offset_mm = 0;
  };
  std::optional<Cut> cut;
  std::optional<Box3> window; ///< only the foam in this box, cut off clean at its faces
  /// Level floors are drawn in large triangles where this says no of a rectangle in plan; empty: every cell
  /// is kept.
  std::function<bool(Vec2 low, Vec2 high)> keep_fine = {};
};

/// The skin of a whole preview, tile by tile, at any moment.
class Skin {
public:
  Skin(const Preview& preview, const SkinOptions& options);
  int tiles() const { return static_cast<int>(ranges_.size()); }
  /// Thread-safe.
  SkinTile tile(int index, Moment t) const;
  /// Tiles whose skin may differ between two moments: those a move between them passes.
  std::vector<int> changed(Moment a, Moment b) const;
  /// All tiles, in parallel, joined.
  Mesh whole(Moment t) const;
  double cell_mm() const { return cell_mm_; }

private:
  const Preview* preview_;
  FoamField field_;
  std::optional<SkinOptions::Cut> cut_;
  std::vector<TileRange> ranges_;
  double cell_mm_;
};

} // namespace snagmap
