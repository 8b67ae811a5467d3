// One ordered list of what can go wrong while the program runs, and where a stop would catch it.
#pragma once

#include "sim/checks/hold.hpp"
#include "sim/checks/loose_pieces.hpp"
#include "sim/checks/strands.hpp"

#include <string>
#include <vector>

namespace snagmap {

enum class RiskKind { strand, loose_piece, weak_hold, spot, rubbing };
const char* to_text(RiskKind kind);

struct RiskEvent {
  RiskKind kind = RiskKind::spot;
  double time_s = 0;
  std::int32_t line = 0; ///< a stop before this line comes before the event
  Vec3 place_mm;
  std::string words;
};

/// A stop worth inserting, with every event it comes before.
struct RiskStop {
  std::int32_t line = 0;
  double time_s = 0;
  std::vector<std::size_t> events; ///< indices
};

struct RiskTimeline {
  std::vector<RiskEvent> events; ///< by time, then by kind
  std::vector<RiskStop> stops;   ///< by time; events of one line share a stop
};

/// Spots that snag or whose band reaches S = 1, long strands, pieces that come loose, holds whose band
/// reaches 1, and bodies that rub (from `findings`). Pure.
RiskTimeline risk_timeline(const std::vector<Spot>& spots, const Strands& strands, const LoosePieces& loose,
                           const HoldCheck& hold, const std::vector<Finding>& findings);

std::vector<Finding> timeline_findings(const RiskTimeline& timeline);

} // namespace snagmap
