// What of the sheet lies on the table while it is cut: its free edges, and the area that tape or vacuum can
// hold.
#pragma once

#include "sim/hold/loose_pieces.hpp"
#include "sim/probe/run_grid.hpp"

#include <optional>
#include <utility>
#include <vector>

namespace snagmap {

/// Further off than this an edge does not matter.
constexpr double kFarEdge_mm = 100;

/// Free edges of the foam on the table: the sheet's border, and what is cut through at a moment.
class FreeEdges {
public:
  explicit FreeEdges(const RunGrid& grid);
  /// The move that first cuts through the floor; 0 where the sheet came with a hole.
  std::optional<std::uint32_t> first_through() const;
  /// Distance to the nearest edge when `move` is done, to a plan cell of 4 mm; at most kFarEdge_mm.
  double away_mm(Vec2 at, std::uint32_t move) const;

private:
  Vec2 corner_, size_;
  int nx_, ny_;
  std::uint32_t first_ = kNever;
  std::vector<std::uint32_t> through_;
};

/// Area on the table that is still the sheet's, as it shrinks: by the end of each move.
class TableContact {
public:
  TableContact(const RunGrid& grid, const LoosePieces& loose);
  double at_mm2(std::uint32_t move) const;

private:
  double whole_ = 0;
  std::vector<std::pair<std::uint32_t, double>> lost_;
};

} // namespace snagmap
