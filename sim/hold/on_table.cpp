#include "sim/hold/on_table.hpp"

#include <algorithm>
#include <cmath>
#include <map>

namespace snagmap {
namespace {

constexpr double kEdgeCell_mm = 4; // plan cells of the search for the nearest edge

} // namespace

FreeEdges::FreeEdges(const RunGrid& grid)
    : corner_(grid.corner_mm), size_{grid.nx * grid.dx_mm, grid.ny * grid.dy_mm} {
  nx_ = static_cast<int>(size_.x / kEdgeCell_mm) + 1;
  ny_ = static_cast<int>(size_.y / kEdgeCell_mm) + 1;
  through_.assign(static_cast<std::size_t>(nx_) * ny_, kNever);
  for (std::size_t c = 0; c + 1 < grid.offset.size(); ++c) {
    const FoamRun* const first = grid.begin(c);
    // A hole the sheet came with is open from the first move.
    const bool hole = first == grid.end(c) || first->low_mm > grid.underside_mm;
    const std::uint32_t opened = hole ? 0 : first->move;
    if (opened == kNever)
      continue;
    const Vec2 p = grid.centre_mm(c) - corner_;
    std::uint32_t& cell = through_[static_cast<std::size_t>(p.y / kEdgeCell_mm) * nx_ +
                                   static_cast<std::size_t>(p.x / kEdgeCell_mm)];
    cell = std::min(cell, opened);
    first_ = std::min(first_, opened);
  }
}

std::optional<std::uint32_t> FreeEdges::first_through() const {
  return first_ == kNever ? std::nullopt : std::optional(first_);
}

double FreeEdges::away_mm(Vec2 at, std::uint32_t move) const {
  const Vec2 p = at - corner_;
  double away = std::max(0.0, std::min({p.x, p.y, size_.x - p.x, size_.y - p.y, kFarEdge_mm}));
  if (first_ > move)
    return away;
  const int ci = static_cast<int>(std::floor(p.x / kEdgeCell_mm)),
            cj = static_cast<int>(std::floor(p.y / kEdgeCell_mm));
  for (int ring = 0; (ring - 1) * kEdgeCell_mm < away; ++ring)
    for (int j = std::max(0, cj - ring); j <= std::min(ny_ - 1, cj + ring); ++j)
      for (int i = std::max(0, ci - ring); i <= std::min(nx_ - 1, ci + ring);
           i += (std::abs(j - cj) == ring || ring == 0) ? 1 : std::max(1, ci + ring - i)) {
        if (through_[static_cast<std::size_t>(j) * nx_ + i] > move)
          continue;
        const double dx = std::max({0.0, i * kEdgeCell_mm - p.x, p.x - (i + 1) * kEdgeCell_mm});
        const double dy = std::max({0.0, j * kEdgeCell_mm - p.y, p.y - (j + 1) * kEdgeCell_mm});
        away = std::min(away, std::hypot(dx, dy));
      }
  return away;
}

TableContact::TableContact(const RunGrid& grid, const LoosePieces& loose) {
  std::map<std::uint32_t, double> lost;
  for (std::size_t c = 0; c + 1 < grid.offset.size(); ++c)
    if (grid.begin(c) != grid.end(c)) {
      whole_ += grid.cell_mm2();
      if (grid.begin(c)->move != kNever)
        lost[grid.begin(c)->move] += grid.cell_mm2();
    }
  for (const LoosePiece& piece : loose.pieces)
    if (!piece.from && !piece.on_skin)
      lost[piece.freed_by] += piece.base_mm2;
  double sum = 0;
  for (const auto& [move, area] : lost)
    lost_.push_back({move, sum += area});
}

double TableContact::at_mm2(std::uint32_t move) const {
  const auto after = std::upper_bound(lost_.begin(), lost_.end(), move,
                                      [](std::uint32_t m, const auto& entry) { return m < entry.first; });
  return std::max(0.0, whole_ - (after == lost_.begin() ? 0 : (after - 1)->second));
}

} // namespace snagmap
