#include "models/cards/bench.hpp"

#include "models/base/constants.hpp"
#include "models/base/crossing.hpp"
#include "models/base/finite.hpp"

#include <cmath>
#include <fmt/format.h>

namespace snagmap {
namespace {

constexpr double kQuarterTurn = 1.57079632679489661923;
constexpr int kSteps = 256;
constexpr double kMostLoad =
    50; // P L^2/EI + q L^3/EI up to which the shooting is trusted (nine tenths of a hang)

double stiffness_N_mm2(const Strip& strip, double E_kPa) {
  return E_kPa / 1000 * strip.width_mm * std::pow(strip.thickness_mm, 3) / 12;
}
double weight_N_mm(const Strip& strip) {
  return strip.density_kg_m3 * 1e-9 * strip.width_mm * strip.thickness_mm * kGravity_m_s2;
}
double tip_N(const Strip& strip) {
  return strip.tip_mass_g / 1000 * kGravity_m_s2;
}

struct Shape {
  double root_angle = 0, drop = 0;
};

/// Walks from the tip, where the strip slopes by `tip_angle` and carries no moment, to the clamp. Lengths are
/// shares of the overhang; `tip` is P L^2/EI, `own` is q L^3/EI.
Shape walk(double tip_angle, double tip, double own) {
  const double ds = 1.0 / kSteps;
  const auto turn = [&](double s, double angle) { return -(tip + own * s) * std::cos(angle); };
  double angle = tip_angle, bend = 0, drop = 0;
  for (int i = 0; i < kSteps; ++i) {
    const double s = i * ds, half = ds / 2;
    const double a1 = bend, b1 = turn(s, angle);
    const double a2 = bend + half * b1, b2 = turn(s + half, angle + half * a1);
    const double a3 = bend + half * b2, b3 = turn(s + half, angle + half * a2);
    const double a4 = bend + ds * b3, b4 = turn(s + ds, angle + ds * a3);
    const double middle = angle + half * a2, next = angle + ds / 6 * (a1 + 2 * a2 + 2 * a3 + a4);
    drop += ds / 6 * (std::sin(angle) + 4 * std::sin(middle) + std::sin(next)); // Simpson
    angle = next;
    bend += ds / 6 * (b1 + 2 * b2 + 2 * b3 + b4);
  }
  return {angle, drop};
}

} // namespace

double sag_mm(const Strip& strip, double E_kPa) {
  require_finite("strip and modulus", strip.thickness_mm, strip.width_mm, strip.overhang_mm,
                 strip.density_kg_m3, strip.tip_mass_g, E_kPa);
  const double EI = stiffness_N_mm2(strip, E_kPa), L = strip.overhang_mm;
  const double tip = tip_N(strip) * L * L / EI, own = weight_N_mm(strip) * L * L * L / EI;
  const Crossing at = crossing(0, kQuarterTurn, // the tip never hangs past the vertical
                               [&](double angle) { return walk(angle, tip, own).root_angle < 0; });
  return tip + own > 0 ? L * walk(at.found ? at.middle() : at.high, tip, own).drop : 0;
}

Outcome<double> modulus_from_sag_kPa(const Strip& strip, double sag) {
  require_finite("strip", strip.thickness_mm, strip.width_mm, strip.overhang_mm, strip.density_kg_m3,
                 strip.tip_mass_g);
  if (!(strip.thickness_mm > 0 && strip.width_mm > 0 && strip.overhang_mm > 0 &&
        weight_N_mm(strip) + tip_N(strip) > 0))
    return Fault("a strip needs thickness, width, overhang, and a weight of its own or at its tip",
                 "measure the missing one");
  const double L = strip.overhang_mm;
  double low =
      (tip_N(strip) * L * L + weight_N_mm(strip) * L * L * L) / (kMostLoad * stiffness_N_mm2(strip, 1));
  double high = 1e6 * low;
  if (!(sag < sag_mm(strip, low) && sag > sag_mm(strip, high)))
    return Fault(fmt::format("a sag of {:g} mm tells no modulus: with {:g} mm of overhang it must lie "
                             "between {:.2g} and {:.0f} mm",
                             sag, L, sag_mm(strip, high), sag_mm(strip, low)),
                 "the sag is the drop of the tip below the clamp; choose an overhang that sags by a tenth to "
                 "a half of it");
  while (high / low > 1 + 1e-9) {
    const double middle = std::sqrt(low * high);
    (sag_mm(strip, middle) > sag ? low : high) = middle;
  }
  return std::sqrt(low * high);
}

Banded energy_from_peak_tear(double peak_N, double thickness_mm) {
  require_finite("peak force and thickness", peak_N, thickness_mm);
  const double tear = peak_N / thickness_mm;
  return {1.7 * tear, 1.3 * tear, 2.3 * tear, "1.7 (1.3 to 2.3) x peak force over thickness of a split strip",
          false};
}

} // namespace snagmap
