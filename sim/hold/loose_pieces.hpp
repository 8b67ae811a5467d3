// Loose pieces: every piece of foam that comes free of the sheet while the program runs, at its exact move.
#pragma once

#include "sim/findings/finding.hpp"
#include "sim/motion/motion.hpp"
#include "sim/probe/run_grid.hpp"

#include <limits>
#include <optional>
#include <vector>

namespace snagmap {

/// Columns i0..i1-1 of row j.
struct PlanRow {
  int j = 0, i0 = 0, i1 = 0;
};

/// A piece as it is the moment it comes free. Within a move nothing is told apart: it is free when `freed_by`
/// ends.
struct LoosePiece {
  std::uint32_t freed_by = 0;      ///< the move that cuts the last bridge
  std::optional<std::size_t> from; ///< the piece it came off; none: the sheet, and always so on a skin
  bool on_skin = false;            ///< a skin on the table still joins it to the rest
  double volume_mm3 = 0;
  Box3 box;
  Vec3 centre_mm;                  ///< of volume
  double plan_mm2 = 0;             ///< area seen from above
  double base_mm2 = 0;             ///< area on the table: what tape or vacuum can hold
  std::uint32_t next_cut = kNever; ///< first later move that cuts it
  std::uint32_t gone_by = kNever;  ///< move that takes the last of it
  std::vector<PlanRow> rows;       ///< its plan, row by row
  double height_mm() const { return box.high.z - box.low.z; }

  // Filled by place_on_path.
  std::int32_t line = 0, next_cut_line = 0, gone_line = 0; ///< 0: never
  double time_s = 0;                                       ///< end of the freeing move
  double beside_s = 0;          ///< time the flutes still spend within a bite's reach of it, being free
  double last_beside_s = 0;     ///< program time when they were last there
  double stays_s = 0;           ///< of `beside_s`, before the cutter first leaves it upward
  std::optional<double> back_s; ///< program time when it comes beside it again after that
};

/// A place where the floor is cut through, or only a skin is left on the table.
struct ThinFloor {
  bool through = false;
  double area_mm2 = 0, least_mm = 0; ///< least thickness left (0 when through)
  Vec2 centre_mm;
  double z_mm = 0;        ///< the sheet's underside
  std::uint32_t move = 0; ///< the first that cuts through, or leaves the skin
};

struct LooseOptions {
  double crumb_mm3 = 100;      ///< smaller pieces are counted, not listed
  double skin_mm = 1;          ///< a floor no thicker than this holds nothing sideways; 0: no such view
  double least_floor_mm2 = 25; ///< thin floors smaller than this are not listed
};

struct LoosePieces {
  std::vector<LoosePiece>
      pieces; ///< the free ones by move, then largest first; then those on a skin, the same
  std::vector<ThinFloor> floors; ///< largest first
  std::size_t crumbs = 0;
  double crumbs_mm3 = 0;
};

/// Exact, with no sampling in time: two runs of foam that touch stay joined until the first of their
/// removals, so the sheet's break-up is a forest merged from the last move back to the first (Kruskal's
/// spanning tree over falling weight, with union-find). Where foam breaks in two, the larger part (the lower
/// column on a tie) counts as the rest and the other as the piece. Foam holds together through faces of
/// columns, not through edges. O(runs log runs); serial, so the same bits on any thread count.
LoosePieces find_loose_pieces(const RunGrid& grid, const LooseOptions& options);

/// Neighbouring columns whose floor is gone, or thin, as places; largest first.
std::vector<ThinFloor> thin_floors(const RunGrid& grid, const LooseOptions& options);

/// Fills what depends on the program: lines, times, and how long the cutter is still beside each piece
/// (path walked in steps of `kBesideStep_mm`; `reach_mm` beyond the flutes counts as beside).
constexpr double kBesideStep_mm = 1;
void place_on_path(LoosePieces& found, const RunGrid& grid, const Path& path, const Motion& motion,
                   const std::vector<CutterCard>& cutters, double reach_mm);

/// What a machine operator should know about them.
std::vector<Finding> loose_findings(const LoosePieces& found, const Path& path, const Motion& motion,
                                    const LooseOptions& options);

} // namespace snagmap
