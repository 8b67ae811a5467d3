// Which web does a place belong to: walked mid-lines in a plane grid.
#pragma once

#include "models/base/vec.hpp"

#include <cmath>
#include <cstdint>
#include <unordered_map>
#include <vector>

namespace snagmap {

/// Walked mid-lines in a plane grid, so that a middle finds its web without asking all of them.
class WebIndex {
public:
  struct Found {
    int web = -1; ///< -1: none
    Vec2 along;   ///< the line's own direction there
  };
  /// The nearest web whose line passes within `reach` of p along about the same way ({0,0}: any way).
  Found find(Vec2 p, Vec2 along, double reach) const {
    Found best;
    double nearest = reach;
    const bool any_way = dot(along, along) == 0;
    const int r = static_cast<int>(std::ceil(reach / kCell_mm));
    const int cx = cell(p.x), cy = cell(p.y);
    for (int ix = cx - r; ix <= cx + r; ++ix)
      for (int iy = cy - r; iy <= cy + r; ++iy) {
        const auto found = cells_.find(key(ix, iy));
        if (found == cells_.end())
          continue;
        for (const Piece& piece : found->second) {
          if (!any_way && std::abs(dot(piece.along, along)) < 0.7)
            continue;
          const double d = norm(p - piece.middle);
          if (d >= reach)
            continue;
          if (d < nearest || (d == nearest && piece.web < best.web)) {
            nearest = d;
            best = {piece.web, piece.along};
          }
        }
      }
    return best;
  }
  void add(int web, const std::vector<Vec2>& line) {
    for (std::size_t i = 0; i + 1 < line.size(); ++i) {
      const Vec2 run = line[i + 1] - line[i];
      const double length = norm(run);
      if (length < 1e-9)
        continue;
      const int pieces = static_cast<int>(std::ceil(length / kCell_mm));
      for (int k = 0; k <= pieces; ++k) {
        const Vec2 middle = line[i] + (static_cast<double>(k) / pieces) * run;
        cells_[key(cell(middle.x), cell(middle.y))].push_back({web, middle, (1 / length) * run});
      }
    }
  }

private:
  static constexpr double kCell_mm = 2;
  struct Piece {
    int web;
    Vec2 middle, along;
  };
  static int cell(double v) { return static_cast<int>(std::floor(v / kCell_mm)); }
  static std::uint64_t key(int ix, int iy) {
    return static_cast<std::uint64_t>(static_cast<std::uint32_t>(ix)) << 32 | static_cast<std::uint32_t>(iy);
  }
  std::unordered_map<std::uint64_t, std::vector<Piece>> cells_;
};

} // namespace snagmap
