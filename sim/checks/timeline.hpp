// One ordered list of what can go wrong while the program runs, and the plan of stops that sees to it.
#pragma once

#include "sim/checks/strands.hpp"
#include "sim/hold/hold.hpp"
#include "sim/hold/loose_pieces.hpp"
#include "sim/judge/judged_job.hpp"

#include <optional>
#include <variant>
#include <vector>

namespace snagmap {

enum class RiskKind { strand, loose_piece, weak_hold, spot, rubbing };
const char* to_text(RiskKind kind);

/// Program times at which a stop would see to an event.
struct SeeTo {
  double from_s = 0, by_s = 0;
};

/// What may happen, with its values.
namespace risk {
struct Strand {
  double length_mm; ///< of cut without a break
  bool slot;
  std::int32_t since_line;
  static constexpr auto kind = RiskKind::strand;
  static constexpr std::array keys{"length_mm", "slot", "since_line"};
};
struct LoosePiece {
  double volume_mm3;
  bool on_skin;
  double beside_s; ///< the cutter is beside it, it being free
  static constexpr auto kind = RiskKind::loose_piece;
  static constexpr std::array keys{"volume_mm3", "on_skin", "beside_s"};
};
struct WeakHold {
  double nominal, low, high; ///< times the pull
  bool snag;
  static constexpr auto kind = RiskKind::weak_hold;
  static constexpr std::array keys{"factor", "factor_low", "factor_high", "snag"};
};
struct Snag {
  int web;
  double s;
  bool only_band; ///< S itself stays under 1
  static constexpr auto kind = RiskKind::spot;
  static constexpr std::array keys{"web", "s", "only_band"};
};
struct Rubbing {
  Fact found;
  static constexpr auto kind = RiskKind::rubbing;
  static constexpr std::array keys{"found"};
};
} // namespace risk
using Risk = std::variant<risk::Strand, risk::LoosePiece, risk::WeakHold, risk::Snag, risk::Rubbing>;

struct RiskEvent {
  Risk what;
  double time_s = 0;
  std::int32_t line = 0;
  Vec3 place_mm;
  std::optional<SeeTo> see_to; ///< empty: no stop would
  RiskKind kind() const {
    return std::visit([](const auto& risk) { return risk.kind; }, what);
  }
};

/// A stop of the plan.
struct RiskStop {
  std::int32_t line = 0;  ///< before this line, or within it where the cutter is lifted out of a cut
  std::uint32_t move = 0; ///< before this move, or at a share of it
  double share = 0;
  double time_s = 0;
  bool lifted = false;   ///< no place out of the foam lies within the time: the cutter is lifted first
  bool given = false;    ///< the program stops or changes its tool there anyway: nothing is added
  Vec3 tip_mm;           ///< the place left, and the one to go back to
  float spindle_rpm = 0; ///< to start again with
  std::vector<std::size_t> events; ///< indices
};

struct RiskTimeline {
  std::vector<RiskEvent> events;   ///< by time, then by kind
  std::vector<RiskStop> stops;     ///< by time
  std::vector<std::size_t> at_end; ///< events that may wait for the program's end
  StopLimits limits;               ///< that the plan keeps
  double clear_mm = 0;             ///< height to which the cutter is lifted
  double run_up_s = 0;             ///< of the spindle
  std::size_t added() const;       ///< stops that the program has not by itself
};

/// Spots that snag or whose band reaches S = 1, long strands, pieces that come loose, holds whose band
/// reaches 1, and bodies that rub (from `findings`), with the fewest stops that see to all of them in time
/// (stops.hpp). What a stop is for: a strand longer than the limit is cleared, and a torn web, a lifted sheet
/// or a hot place is seen, within the limit's time (to see alone, no cutter is lifted out of a cut: the next
/// place out of the foam will do); a free piece is taken out before the cutter comes back to
/// it, or as soon as it is free where the cutter stays beside it. A piece on a skin needs no stop. Pure.
RiskTimeline risk_timeline(const JudgedJob& job, const Strands& strands, const LoosePieces& loose,
                           const HoldCheck& hold, const std::vector<Finding>& findings);

} // namespace snagmap
