#include "models/mechanics/wall_side.hpp"

#include "models/base/constants.hpp"
#include "models/base/crossing.hpp"
#include "models/base/finite.hpp"

#include <cmath>

namespace snagmap {
namespace {

constexpr double kFrictionLow = 0.3, kFrictionHigh = 1.2; // foam on carbide, from memory

/// Radial width of a straight cut engaged over an angle.
double width_mm(double diameter_mm, double engaged_rad) {
  return 0.5 * diameter_mm * (1 - std::cos(engaged_rad));
}

} // namespace

double thrust_ratio(double rake_deg, double friction) {
  require_finite("rake and friction", rake_deg, friction);
  return std::tan(std::atan(friction) - rake_deg * kPi / 180);
}

double wall_pull(double engaged_rad, double thrust, bool climb, EdgeForce force) {
  require_finite("engaged angle and thrust", engaged_rad, thrust);
  const double s = std::sin(engaged_rad), c = std::cos(engaged_rad);
  // Integrals over the arc of the tangential force times sin (along the drag) and cos (along the thrust).
  const double drag = force == EdgeForce::follows_chip ? (engaged_rad - s * c) / 2 : 1 - c;
  const double off = force == EdgeForce::follows_chip ? s * s / 2 : s;
  return ((climb ? -drag : drag) - thrust * off) / (2 * kPi);
}

double pull_begins_rad(double thrust, EdgeForce force) {
  require_finite("thrust", thrust);
  if (thrust <= 0)
    return 0;
  if (force == EdgeForce::saturated)
    return 2 * std::atan(thrust); // 1 - cos = thrust sin
  // Drag over thrust grows with the angle from 0 to infinity: one crossing.
  return crossing(0, kPi, [&](double angle) { return wall_pull(angle, thrust, false, force) <= 0; }).middle();
}

WallSides wall_sides(const CutterCard& cutter) {
  const double least = thrust_ratio(cutter.rake_deg, kFrictionLow),
               most = thrust_ratio(cutter.rake_deg, kFrictionHigh), d = cutter.diameter_mm;
  // Saturated chips turn later than thin ones.
  const auto turns_mm = [&](double thrust, EdgeForce force) {
    return width_mm(d, pull_begins_rad(thrust, force));
  };
  WallSides sides{most <= 0, 0, 0, kFrictionLow, kFrictionHigh, 0};
  if (!sides.always_draws)
    sides.draws_from_mm = turns_mm(least, EdgeForce::follows_chip),
    sides.draws_to_mm = turns_mm(most, EdgeForce::saturated);
  if (least < 0)
    sides.climb_draws_under_mm = turns_mm(-least, EdgeForce::saturated);
  return sides;
}

} // namespace snagmap
