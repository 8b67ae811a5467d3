// Loose pieces on the path: lines, times, and how long the cutter stays beside them.
#include "sim/hold/loose_pieces.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

/// The plan of a piece grown by a distance, as a bitmap over its grown box.
class GrownPlan {
public:
  GrownPlan(const LoosePiece& piece, const RunGrid& grid, double by_mm) : grid_(grid) {
    const int rx = static_cast<int>(by_mm / grid.dx_mm) + 1, ry = static_cast<int>(by_mm / grid.dy_mm) + 1;
    int i1 = 0;
    i0_ = grid.nx;
    for (const PlanRow& row : piece.rows) {
      i0_ = std::min(i0_, row.i0);
      i1 = std::max(i1, row.i1);
    }
    i0_ -= rx;
    j0_ = piece.rows.front().j - ry;
    nx_ = i1 + rx - i0_;
    ny_ = piece.rows.back().j + ry + 1 - j0_;
    inside_.assign(static_cast<std::size_t>(nx_) * ny_, 0);
    for (const PlanRow& row : piece.rows)
      for (int dj = -ry; dj <= ry; ++dj) {
        const double across = std::max(0.0, (std::abs(dj) - 0.5) * grid.dy_mm);
        if (across > by_mm)
          continue;
        const int k = static_cast<int>(std::sqrt(by_mm * by_mm - across * across) / grid.dx_mm);
        const auto at = inside_.begin() + static_cast<std::ptrdiff_t>(row.j + dj - j0_) * nx_;
        std::fill(at + (row.i0 - k - i0_), at + (row.i1 + k - i0_), 1);
      }
  }
  bool holds(Vec2 p) const {
    const double x = (p.x - grid_.corner_mm.x) / grid_.dx_mm - i0_,
                 y = (p.y - grid_.corner_mm.y) / grid_.dy_mm - j0_;
    if (!(x >= 0 && y >= 0 && x < nx_ && y < ny_))
      return false;
    return inside_[static_cast<std::size_t>(y) * nx_ + static_cast<std::size_t>(x)] != 0;
  }

private:
  const RunGrid& grid_;
  int i0_, j0_, nx_, ny_;
  std::vector<char> inside_;
};

bool moves_tip(const Move& move) {
  return move.kind == MoveKind::line || move.kind == MoveKind::arc || move.kind == MoveKind::rapid;
}

/// Could the move come within reach of the box at all?
bool passes(const Move& move, const Box3& box, double reach) {
  const double bulge =
      move.kind == MoveKind::arc ? 2 * norm(Vec2{move.from.x, move.from.y} - move.centre) : 0;
  const double r = reach + bulge;
  return std::min(move.from.x, move.to.x) - r < box.high.x &&
         std::max(move.from.x, move.to.x) + r > box.low.x &&
         std::min(move.from.y, move.to.y) - r < box.high.y &&
         std::max(move.from.y, move.to.y) + r > box.low.y &&
         std::min(move.from.z, move.to.z) - bulge < box.high.z;
}

void time_beside(LoosePiece& piece, const RunGrid& grid, const Path& path, const Motion& motion,
                 const std::vector<CutterCard>& cutters, double radius_mm, double reach_mm) {
  const GrownPlan plan(piece, grid, radius_mm + reach_mm);
  const std::size_t end = piece.gone_by == kNever ? path.moves.size() : piece.gone_by + 1;
  bool left = false; // over the piece: from there on a hand could have taken it away
  for (std::size_t m = piece.freed_by + 1; m < end; ++m) {
    const Move& move = path.moves[m];
    left = left || move.from.z >= piece.box.high.z;
    if (!moves_tip(move) || !passes(move, piece.box, radius_mm + reach_mm))
      continue;
    const double flutes = cutters[static_cast<std::size_t>(move.tool)].flute_length_mm;
    const int steps = std::max(1, static_cast<int>(std::ceil(length_mm(move) / kBesideStep_mm)));
    for (int k = 0; k < steps; ++k) {
      const double share = (k + 0.5) / steps;
      const Vec3 tip = point_at(move, share);
      if (tip.z >= piece.box.high.z || tip.z + flutes <= piece.box.low.z || !plan.holds(xy(tip)))
        continue;
      const double end_s = motion_at(path, motion, m, (k + 1.0) / steps).time_s;
      const double begin_s = motion_at(path, motion, m, static_cast<double>(k) / steps).time_s;
      piece.beside_s += end_s - begin_s;
      piece.last_beside_s = end_s;
      if (!left)
        piece.stays_s += end_s - begin_s;
      else if (!piece.back_s)
        piece.back_s = begin_s;
    }
  }
}

template <class Piece> Piece fact_of(const LoosePiece& piece) {
  return {piece.box.high - piece.box.low,
          piece.volume_mm3,
          piece.base_mm2,
          piece.height_mm(),
          piece.beside_s,
          piece.next_cut_line,
          piece.gone_line};
}

} // namespace

void place_on_path(LoosePieces& found, const RunGrid& grid, const Path& path, const Motion& motion,
                   const std::vector<CutterCard>& cutters, double reach_mm) {
  double radius = 0;
  for (const CutterCard& cutter : cutters)
    radius = std::max(radius, 0.5 * cutter.diameter_mm);
  for (LoosePiece& piece : found.pieces) {
    piece.line = path.moves[piece.freed_by].line;
    piece.time_s = motion.start_s[piece.freed_by + 1];
    if (piece.next_cut != kNever)
      piece.next_cut_line = path.moves[piece.next_cut].line;
    if (piece.gone_by != kNever)
      piece.gone_line = path.moves[piece.gone_by].line;
    time_beside(piece, grid, path, motion, cutters, radius, reach_mm);
  }
}

std::vector<Finding> loose_findings(const LoosePieces& found, const Path& path, const Motion& motion,
                                    const LooseOptions& options) {
  std::vector<Finding> findings;
  for (const LoosePiece& piece : found.pieces) {
    findings.push_back(at_moment(piece.on_skin ? Fact(fact_of<fact::PieceOnSkin>(piece))
                                               : Fact(fact_of<fact::LoosePiece>(piece)),
                                 piece.line, piece.time_s, piece.centre_mm));
  }
  for (const ThinFloor& floor : found.floors)
    findings.push_back(at_moment(floor.through ? Fact(fact::FloorCutThrough{floor.area_mm2})
                                               : Fact(fact::SkinLeft{floor.least_mm, floor.area_mm2}),
                                 path.moves[floor.move].line, motion.start_s[floor.move],
                                 {floor.centre_mm.x, floor.centre_mm.y, floor.z_mm}));
  if (found.crumbs > 0)
    findings.push_back(whole_job(fact::Crumbs{found.crumbs, options.crumb_mm3, found.crumbs_mm3}));
  return findings;
}

} // namespace snagmap
