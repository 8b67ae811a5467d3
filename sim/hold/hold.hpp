// Hold-down along the path: does tape or vacuum keep the sheet and every loose piece where they lie?
#pragma once

#include "models/mechanics/hold_down.hpp"
#include "sim/findings/finding.hpp"
#include "sim/hold/loose_pieces.hpp"
#include "sim/hold/pull.hpp"

#include <optional>
#include <vector>

namespace snagmap {

/// One moment: what pulls, what resists, and the factor between them.
struct HoldMoment : Pull {          // its load: about the edge of what resists
  std::optional<std::size_t> piece; ///< index into the loose pieces; none: the sheet
  double edge_away_mm = 0;          ///< from the cutter to the nearest free edge of the sheet on the table
  Footprint footprint;
  Safety safety; ///< band: the hold's and the force's ranges, independent, so root-sum-square of logs

  HoldMoment() = default;
  explicit HoldMoment(const Pull& pull) : Pull(pull) {}
};

/// The factor of one step of the path, for plots.
struct HoldSample {
  std::uint32_t move = 0;
  float share = 0, time_s = 0, nominal = 0, low = 0, high = 0;
};

/// Vacuum: the first cut through the floor, and when and where that move begins.
struct SealLoss {
  std::int32_t line = 0;
  double time_s = 0;
  Vec3 place_mm;
};

struct HoldCheck {
  std::optional<Safety> least; ///< whose band reaches lowest, of all moments that the nominal S foresees
  HoldDownKind kind = HoldDownKind::none_given;
  TapeStrength tape;   ///< used, after the caps by the foam
  Banded clamping_kPa; ///< vacuum: the pressure that really clamps
  std::optional<SealLoss> seal_lost;
  std::vector<HoldSample> along; ///< the sheet while it is cut, by step
  std::vector<HoldMoment>
      worst; ///< lowest nominal factor first; of one body and case no two on a line, no more than three
};

/// What the hold-down of the scene is worth on its lowest foam. Pure.
struct HoldStrength {
  HoldDownKind kind = HoldDownKind::none_given;
  TapeStrength tape;
  double tape_share = 1;
  Banded clamping_kPa;
};
HoldStrength hold_strength(const Scene& scene);
/// Factor with the band of the hold alone.
Safety hold_safety(const HoldStrength& hold, const Footprint& bare, const PieceLoad& load);

/// Foam under a load spreads it by 45 degrees: the patch of a force at `height_mm` over the table, its edge
/// `away_mm` off. Never more than `contact_mm2`.
Footprint patch_under(double cutter_radius_mm, double height_mm, double away_mm, double contact_mm2);

/// Cutting forces at every step, the hook load at every spot whose band reaches S = 1, on the sheet and on
/// the pieces that are loose by then. No hold-down given: an empty check with kind none_given.
HoldCheck check_hold(const JudgedJob& job, const CutTrace& trace, const RunGrid& grid,
                     const LoosePieces& loose);

std::vector<Finding> hold_findings(const HoldCheck& check, const LoosePieces& loose);

} // namespace snagmap
