#include "sim/swept/helix.hpp"

#include "models/base/constants.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

constexpr int kPlaces = 24, kHalvings = 14; // at most 15 degrees apart, then 1e-4 of that

/// A share and the least value found there.
struct Least {
  double s, value;
};

/// Least of `value` over shares from..to: places, then thirds round the best of them.
template <class Value> Least least_over(double from, double to, const Value& value) {
  Least best{from, value(from)};
  const double step = (to - from) / kPlaces;
  for (int n = 1; n <= kPlaces; ++n) {
    const double s = from + n * step, at_s = value(s);
    if (at_s < best.value)
      best = {s, at_s};
  }
  double half = step;
  for (int n = 0; n < kHalvings; ++n) {
    half *= 0.5;
    for (const double s : {std::max(from, best.s - half), std::min(to, best.s + half)})
      if (const double at_s = value(s); at_s < best.value) {
        best = {s, at_s};
        break;
      }
  }
  return best;
}

} // namespace

void helix_heights(const Sweep& sweep, const Sweeps& sweeps, const BodyPart& part, Vec2 p, HeightsList& out) {
  const SweptArc& arc = sweeps.arcs[sweep.arc];
  Windows windows;
  windows_over(sweep, sweeps, part.radius, p, windows);
  const double q = norm(p - arc.centre), off = q - arc.radius, off2 = off * off, spread = 4 * q * arc.radius;
  const bool falls = sweep.zb < sweep.za;
  for (int n = 0; n < windows.count; ++n) {
    const Window& window = windows.at[static_cast<std::size_t>(n)];
    const double nearest = std::clamp(window.mid, window.s0, window.s1);
    const auto distance = [&](double s) {
      const double half = std::sin(0.5 * (s - window.mid) * arc.turn);
      return std::min(std::sqrt(off2 + spread * half * half), part.radius);
    };
    // Before the nearest place the cutter is as far and, on its way down, higher: the lowest comes after it,
    // the highest before; of a place in the middle of the ring, which is covered all the way, in the last
    // turn or the first.
    const auto low = [&](double s) { return sweep.z_at(s) + part.under.at(distance(s)); };
    const auto high = [&](double s) { return -sweep.z_at(s) + part.over.at(distance(s)); };
    const double down = falls ? window.s1 : window.s0, up = falls ? window.s0 : window.s1;
    const double turn = 2 * kPi / std::abs(arc.turn), whole = window.s1 - window.s0;
    const auto from = [&](double end) {
      return whole < turn ? nearest
                          : std::clamp(end + (end == window.s1 ? -turn : turn), window.s0, window.s1);
    };
    const Least bottom = least_over(from(down), down, low);
    const Least top = part.over.flat() ? Least{up, high(up)} : least_over(from(up), up, high);
    Heights h{};
    h.low = bottom.value;
    h.high = -top.value;
    h.s0 = window.s0;
    h.s = 0.5 * (window.s0 + (falls ? bottom.s : top.s));
    h.distance = distance(nearest);
    if (h.high > h.low)
      out.at[static_cast<std::size_t>(out.count++)] = h;
  }
}

} // namespace snagmap
