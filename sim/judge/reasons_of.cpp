#include "sim/judge/spots.hpp"

#include <algorithm>

namespace snagmap {
namespace {

constexpr double kSolved = 1e-4; // of S, and mm of the lean: no printed figure changes by less

} // namespace

std::vector<Reason> reasons_of(const Spot& spot, const WebFound& web, const FoamCard& foam) {
  std::vector<Reason> reasons;
  const SnagQuestion& q = spot.question;
  const double lambda = foam.lambda.nominal;
  if (q.web.h_mm > 2 * q.web.w_mm)
    reasons.push_back(reason::Slender{q.web.h_mm / q.web.w_mm});
  if (q.contact.high_mm > q.pass_depth_mm + 0.5) {
    SnagQuestion shorter = q;
    shorter.contact = {q.contact.low_mm, std::max(q.pass_depth_mm, q.contact.low_mm + 0.05)};
    // By the formula, scaled as it is for the spot itself.
    const double scale = spot.solved() && spot.screened.s > 0 ? spot.answer.s / spot.screened.s : 1;
    const double s = scale * lambda * gamma(shorter.web, shorter.contact).value;
    reasons.push_back(reason::FlutesPastPass{q.contact.high_mm, q.contact.high_mm - q.pass_depth_mm, s});
  }
  const double d = std::min(q.web.end1 == WebEnd::free ? q.web.d1_mm : 1e9,
                            q.web.end2 == WebEnd::free ? q.web.d2_mm : 1e9);
  if (d < q.web.w_mm)
    reasons.push_back(reason::FreeEndNear{d});
  if (web.island)
    reasons.push_back(reason::Island{});
  if (spot.answer.s >= 1 && spot.answer.s_touch < 1)
    reasons.push_back(reason::NeedsAKick{});
  if (spot.answer.neck_rubs)
    reasons.push_back(reason::LeansOnNeck{});
  if (spot.by_formula().clamped)
    reasons.push_back(reason::OutsideRange{});
  if (spot.answer.gamma_residual > kSolved || spot.answer.residual > kSolved)
    reasons.push_back(reason::NotSolved{spot.answer.gamma_residual, spot.answer.residual});
  if (q.laminate)
    reasons.push_back(reason::Laminate{});
  if (spot.answer.s_low < 1 && spot.answer.s_high >= 1)
    reasons.push_back(reason::OpenBand{});
  return reasons;
}

} // namespace snagmap
