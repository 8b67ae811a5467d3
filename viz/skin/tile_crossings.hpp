// One tile of the skin's grid: which nodes are foam, and where its edges cross the skin.
#pragma once

#include "viz/skin/surfaces.hpp"

#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

namespace snagmap {

struct Crossing {
  Vec3 place, normal; ///< normal points to the air
};

/// Blocks of nodes whose columns are alike to the last bit, so that every skin inside lies level, are floors:
/// they are drawn as one.
class TileCrossings {
public:
  static constexpr int kFloor = 16; ///< nodes a side of a floor
  struct Floor {
    int i = 0, j = 0; ///< first node
  };

  TileCrossings(const FoamField& field, const TileRange& range);

  // Node (i, j, k): global column indices; column 0 and the last stand outside the sheet, in air.
  int columns_x() const { return static_cast<int>(f_.xs_mm.size()); }
  int columns_y() const { return static_cast<int>(f_.ys_mm.size()); }
  static double place(const std::vector<double>& at, int i) {
    // Nodes beyond the sheet mirror the outermost column in the face, well clear of it.
    const int n = static_cast<int>(at.size());
    const double step = n > 1 ? at[1] - at[0] : 1;
    if (i < 1)
      return at.front() - step * (1 - i);
    if (i > n)
      return at.back() + step * (i - n);
    return at[static_cast<std::size_t>(i - 1)];
  }
  double x(int i) const { return place(f_.xs_mm, i); }
  double y(int j) const { return place(f_.ys_mm, j); }
  double z(int k) const { return f_.levels_mm[static_cast<std::size_t>(k)]; }
  bool inside(int i, int j) const { return i >= 1 && i <= columns_x() && j >= 1 && j <= columns_y(); }
  std::size_t column_index(int i, int j) const {
    return static_cast<std::size_t>(j - j0_) * static_cast<std::size_t>(ni_) +
           static_cast<std::size_t>(i - i0_);
  }
  std::size_t node(int i, int j, int k) const {
    return column_index(i, j) * static_cast<std::size_t>(nk_) + static_cast<std::size_t>(k);
  }
  bool solid(int i, int j, int k) const { return solid_[node(i, j, k)]; }

  int levels() const { return nk_; }
  /// Height where the column's foam begins or ends between levels k and k + 1; the middle when slabs
  /// disagree.
  double height(int i, int j, int k) const;

  const std::vector<Floor>& floors() const { return floors_; }
  bool in_floor(int i, int j) const { return floor_[column_index(i, j)]; }
  bool inside_floor(int i, int j) const { return floor_[column_index(i, j)] == kInner; }

  /// The crossing on the edge from a node along an axis: -1 where there is none.
  std::int32_t at(std::size_t axis, std::size_t node) const { return at_[axis][node]; }
  const Crossing& crossing(std::int32_t at) const { return crossings_[static_cast<std::size_t>(at)]; }

private:
  static constexpr char kRim = 1, kInner = 2;

  void gather();
  void find_floors();
  bool alike(int i, int j) const;
  bool height_near(int i, int j, int k, bool top, double& h) const;
  Crossing vertical(int i, int j, int k) const;
  Crossing sideways(int i, int j, int k, int di, int dj) const;
  Crossing sideways_again(int i, int j, int k, int di, int dj) const;
  void cross();
  void keep(std::size_t axis, int i, int j, int k, const Crossing& c);

  const FoamField& f_;
  const TileRange& r_;
  int i0_, j0_, ni_, nj_, nk_;
  std::vector<std::vector<Slab>> slabs_;
  std::vector<char> solid_;
  std::vector<char> floor_; // by column: in no floor, at a floor's rim, inside it
  std::vector<Floor> floors_;
  std::array<std::vector<std::int32_t>, 3> at_;
  std::vector<Crossing> crossings_;
};

} // namespace snagmap
