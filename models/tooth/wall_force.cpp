#include "models/tooth/wall_force.hpp"

#include "models/base/constants.hpp"
#include "models/base/finite.hpp"
#include "models/mechanics/bite.hpp"
#include "models/mechanics/wall_side.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

constexpr double kSlot_rad = kPi - 1e-9;

double sense(const ToothCut& cut) {
  return cut.climb ? -1 : 1;
}

/// Angles between which the chip is so thick that the force has saturated; none: both pi / 2.
EngagedArc saturated_arc(const ToothCut& cut) {
  const double thin = cut.severing_MPa * cut.feed_mm; // the greatest force by the chip
  const double share = cut.saturated_N_mm > 0 && thin > cut.saturated_N_mm ? cut.saturated_N_mm / thin : 1;
  const double first = std::asin(share);
  return {first, kPi - first};
}

/// Calls `add(part, saturated)` for what of the angles lies in the arc, cut where the chip saturates.
template <class Add> void parts_of(const ToothCut& cut, double from, double to, const Add& add) {
  const EngagedArc fat = saturated_arc(cut);
  const double ends[4] = {cut.arc.from_rad, fat.from_rad, fat.to_rad, cut.arc.to_rad};
  const double low = std::max(from, ends[0]), high = std::min(to, ends[3]);
  for (int n = 0; n < 3; ++n) {
    const double a = n == 0 ? low : std::max(low, ends[n]), b = n == 2 ? high : std::min(high, ends[n + 1]);
    if (b > a)
      add(a, b, n == 1);
  }
}

/// Sum of an integral over one turn's copies of the angles from..to that meet the arc.
template <class Integral> double over_turns(double from, double to, const Integral& integral) {
  require_finite("angles of a tooth", from, to);
  const double way = to < from ? -1 : 1;
  if (way < 0)
    std::swap(from, to);
  const double turn = 2 * kPi, back = turn * std::floor((from + kPi) / turn);
  from -= back, to -= back; // from lies within half a turn of the tangent point
  double sum = 0;
  for (double shift = 0; shift - turn < to; shift += turn)
    sum += integral(from - shift, to - shift);
  return way * sum;
}

} // namespace

double edge_force_N_mm(const ToothCut& cut, double chip_mm) {
  const double force = cut.severing_MPa * std::max(chip_mm, 0.0);
  return cut.saturated_N_mm > 0 ? std::min(force, cut.saturated_N_mm) : force;
}

double regenerative_over(const ToothCut& cut, double from_rad, double to_rad) {
  const double s = sense(cut), r = cut.thrust;
  // Integral of (s sin - r cos) cos: the force across the wall of the chip's change.
  const auto integral = [&](double a) {
    return s * std::sin(a) * std::sin(a) / 2 - r * (a / 2 + std::sin(2 * a) / 4);
  };
  return over_turns(from_rad, to_rad, [&](double from, double to) {
    double sum = 0;
    parts_of(cut, from, to, [&](double a, double b, bool saturated) {
      sum += saturated ? 0 : cut.severing_MPa * (integral(b) - integral(a));
    });
    return sum;
  });
}

double widening_over(const ToothCut& cut, double from_rad, double to_rad) {
  const double end = cut.arc.to_rad;
  if (end >= kSlot_rad || end < 0)
    return 0;
  // The arc's end moves by 1 / (R sin) for each mm; force over sin has a limit where the arc is none.
  const double sine = std::sin(end);
  const double force =
      sine > 1e-9 ? edge_force_N_mm(cut, cut.feed_mm * sine) / sine : cut.severing_MPa * cut.feed_mm;
  const double weight = force * (sense(cut) * sine - cut.thrust * std::cos(end)) / cut.radius_mm;
  return over_turns(from_rad, to_rad,
                    [&](double from, double to) { return from <= end && end < to ? weight : 0.0; });
}

WallForce mean_wall_force(const ToothCut& cut) {
  require_finite("a cut's arc, feed and radius", cut.arc.from_rad, cut.arc.to_rad, cut.feed_mm,
                 cut.radius_mm);
  const double s = sense(cut), r = cut.thrust, share = cut.flutes / (2 * kPi);
  WallForce mean;
  parts_of(cut, cut.arc.from_rad, cut.arc.to_rad, [&](double a, double b, bool saturated) {
    const double force = saturated ? cut.saturated_N_mm : cut.severing_MPa * cut.feed_mm;
    const auto integral = [&](double x) {
      return saturated ? -s * std::cos(x) - r * std::sin(x)
                       : s * (x / 2 - std::sin(2 * x) / 4) - r * std::sin(x) * std::sin(x) / 2;
    };
    mean.q_N_mm += share * force * (integral(b) - integral(a));
  });
  mean.slope_MPa = share * widening_over(cut, -kPi, kPi);
  mean.regenerative_MPa = share * regenerative_over(cut, cut.arc.from_rad, cut.arc.to_rad);
  return mean;
}

Banded edge_friction() {
  return {0.6, 0.3, 1.2, "foam on carbide, polyethylene 0.3 to 0.5, polyurethane 0.6 to 1.2, from memory",
          true};
}

Banded dynamic_ratio() {
  return {2, 1, 3, "Gibson and Ashby 1997: almost independent of rate; 1.5 to 3 at 10 to 100 Hz from memory",
          true};
}

ToothCut tooth_cut(const CutterCard& cutter, double severing_MPa, double saturated_N_mm, double friction) {
  const double across = slice_push(std::tan(cutter.helix_deg * kRadPerDeg)).across;
  ToothCut cut;
  cut.radius_mm = 0.5 * cutter.diameter_mm;
  cut.flutes = cutter.flutes;
  cut.severing_MPa = across * severing_MPa;
  cut.saturated_N_mm = across * saturated_N_mm;
  cut.thrust = thrust_ratio(cutter.rake_deg, friction);
  return cut;
}

} // namespace snagmap
