// Hold-down as findings.
#include "sim/hold/hold.hpp"

namespace snagmap {
namespace {

template <class Holds>
Holds fact_of(const HoldMoment& moment, const HoldCheck& check, const LoosePieces& loose) {
  const Safety& safety = moment.safety;
  return {check.kind,
          moment.piece ? loose.pieces[*moment.piece].line : 0,
          moment.piece ? moment.footprint.held_mm2 : 0,
          safety.nominal,
          safety.low,
          safety.high,
          moment.hold_case == HoldCase::snag,
          moment.expected,
          moment.load.lateral_N,
          moment.load.lift_N,
          safety.give,
          moment.edge_away_mm};
}

} // namespace

std::vector<Finding> hold_findings(const HoldCheck& check, const LoosePieces& loose) {
  if (check.kind == HoldDownKind::none_given)
    return {whole_job(fact::HoldDownNotGiven{})};
  std::vector<Finding> findings;
  if (check.kind == HoldDownKind::vacuum) {
    const Banded& kPa = check.clamping_kPa;
    findings.push_back(whole_job(fact::ClampingPressure{kPa.nominal, kPa.low, kPa.high, kPa.source}));
    if (const auto& lost = check.seal_lost)
      findings.push_back(at_moment(fact::SealLost{lost->line}, lost->line, lost->time_s, lost->place_mm));
  }
  for (const HoldMoment& moment : check.worst) {
    const bool weak = moment.safety.low <= 1;
    if (!weak && &moment != &check.worst.front())
      continue; // the worst is always told, others when they may give
    findings.push_back(at_moment(weak ? Fact(fact_of<fact::WeakHold>(moment, check, loose))
                                      : Fact(fact_of<fact::HoldDown>(moment, check, loose)),
                                 moment.line, moment.time_s, moment.tip_mm, weak && moment.expected));
  }
  return findings;
}

} // namespace snagmap
