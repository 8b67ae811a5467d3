#include "sim/swept/swept.hpp"

#include "models/base/crossing.hpp"

#include <algorithm>

namespace snagmap {
namespace {

constexpr double kRoot_mm = 1e-9; // so near the end of a chord is found

/// Distance from p to the tip's way in plan, and the share of the move where it is least, within a window.
double nearest(const Sweep& sweep, const Sweeps& sweeps, Vec2 p, const Window& window, double& s) {
  s = std::clamp(window.mid, window.s0, window.s1);
  if (sweep.kind == SweepKind::line)
    return norm(p - (sweep.a + s * (sweep.b - sweep.a)));
  if (sweep.kind == SweepKind::arc) {
    const SweptArc& arc = sweeps.arcs[sweep.arc];
    const double q = norm(p - arc.centre), off = q - arc.radius;
    if (s == window.mid)
      return std::abs(off);
    // Off the radius by an angle: law of cosines, written so that small angles lose no digits.
    const double n = std::sin(0.5 * (s - window.mid) * arc.turn);
    return std::sqrt(off * off + 4 * q * arc.radius * n * n);
  }
  return norm(p - sweep.a);
}

/// The share of the sweep during which the part's height range holds z.
bool shares_spanning(const Sweep& sweep, const BodyPart& part, double z, double& s0, double& s1) {
  s0 = 0;
  s1 = 1;
  if (sweep.za == sweep.zb)
    return z >= sweep.za + part.low && z < sweep.za + part.high;
  const double rise = 1 / (sweep.zb - sweep.za);
  const double sl = (z - part.low - sweep.za) * rise, sh = (z - part.high - sweep.za) * rise;
  s0 = std::max(0.0, std::min(sl, sh));
  s1 = std::min(1.0, std::max(sl, sh));
  return s0 <= s1;
}

/// The widest the part gets at height z while the tip goes from its lowest to its highest place; not above 0
/// where it never gets there.
double widest(const Sweep& sweep, const BodyPart& part, double z) {
  const double above = std::min(z - std::min(sweep.za, sweep.zb), part.high);
  const double below = std::max(z - std::max(sweep.za, sweep.zb), part.low);
  return std::min(part.under.radius_at(above), part.over.radius_at(-below));
}

/// The narrowest it gets there; not above 0 where it does not hold the height all the way.
double narrowest(const Sweep& sweep, const BodyPart& part, double z) {
  return std::min(part.under.radius_at(z - std::max(sweep.za, sweep.zb)),
                  part.over.radius_at(std::min(sweep.za, sweep.zb) - z));
}

bool widest_chord(const Sweep& sweep, const BodyPart& part, double z, Vec2 o, Vec2 d, Chord& out) {
  const double most = widest(sweep, part, z);
  return most > 0 && Capsule(sweep.a, sweep.b, most).chord(o, d, out);
}

/// Roots of "the swept part holds height z" along the ray, for a curved part on a sloping line.
void searched_chords(const Sweep& sweep, const Sweeps& sweeps, const BodyPart& part, double z, Vec2 o, Vec2 d,
                     Chords& out) {
  Chord foot;
  if (!widest_chord(sweep, part, z, o, d, foot))
    return;
  HeightsList heights;
  const auto outside = [&](double u) { // negative inside; convex in u for a convex part
    heights.count = 0;
    heights_over(sweep, sweeps, part, o + u * d, heights);
    if (heights.count == 0)
      return 1e300;
    return std::max(heights.at[0].low - z, z - heights.at[0].high);
  };
  const auto root = [&](double in, double far) {
    if (outside(far) <= 0)
      return far;
    const double side = far < in ? -1 : 1;
    const Crossing end = smooth_crossing(
        0, std::abs(far - in), [&](double off) { return outside(in + side * off); }, kRoot_mm);
    return in + side * end.low;
  };
  if (part.convex) {
    // A short chord of a helix hardly rises: what it holds all the way bounds the ends closely.
    Chord core;
    if (const double least = narrowest(sweep, part, z);
        least > 0 && Capsule(sweep.a, sweep.b, least).chord(o, d, core)) {
      out.add(root(core.low, foot.low), root(core.high, foot.high));
      return;
    }
    double a = foot.low, b = foot.high;
    constexpr double kGolden = 0.38196601125010515;
    double x = a + kGolden * (b - a), y = b - kGolden * (b - a), fx = outside(x), fy = outside(y);
    for (int n = 0; n < 60 && b - a > 1e-9 && fx > 0 && fy > 0; ++n) {
      if (fx < fy) {
        b = y, y = x, fy = fx;
        x = a + kGolden * (b - a);
        fx = outside(x);
      } else {
        a = x, x = y, fx = fy;
        y = b - kGolden * (b - a);
        fy = outside(y);
      }
    }
    const double in = fx < fy ? x : y;
    if (std::min(fx, fy) <= 0)
      out.add(root(in, foot.low), root(in, foot.high));
    return;
  }
  // Hollow profiles may leave several chords: look at places a 64th of the way apart.
  constexpr int kPlaces = 64;
  double last = foot.low, start = 0;
  bool inside = outside(last) <= 0;
  if (inside)
    start = last;
  for (int n = 1; n <= kPlaces; ++n) {
    const double u = foot.low + (foot.high - foot.low) * n / kPlaces;
    const bool now = outside(u) <= 0;
    if (now && !inside)
      start = root(u, last);
    if (!now && inside)
      out.add(start, root(last, u));
    inside = now;
    last = u;
  }
  if (inside)
    out.add(start, foot.high);
}

/// Chord of a horizontal ray through a ball swept along a sloping line (a capsule in space).
bool ball_chord(Vec3 a, Vec3 b, double radius, Vec3 o, Vec2 d, Chord& out) {
  double low = 1e300, high = -1e300;
  const auto meet = [&](double lo, double hi) {
    low = std::min(low, lo);
    high = std::max(high, hi);
  };
  for (const Vec3& c : {a, b}) {
    const Vec3 oc = c - o;
    const double m = oc.x * d.x + oc.y * d.y, k = radius * radius - (dot(oc, oc) - m * m);
    if (k >= 0)
      meet(m - std::sqrt(k), m + std::sqrt(k));
  }
  const Vec3 e = b - a, ao = o - a;
  const double l2 = dot(e, e), de = d.x * e.x + d.y * e.y, ae = dot(ao, e), ad = ao.x * d.x + ao.y * d.y;
  const double qa = l2 - de * de, qb = l2 * ad - ae * de, qc = l2 * (dot(ao, ao) - radius * radius) - ae * ae;
  const double disc = qb * qb - qa * qc;
  if (qa > 0 && disc >= 0) {
    for (const double sign : {-1.0, 1.0}) {
      const double u = (-qb + sign * std::sqrt(disc)) / qa, along = ae + u * de;
      if (along >= 0 && along <= l2)
        meet(u, u);
    }
  }
  out = {low, high};
  return high > low;
}

} // namespace

void windows_over(const Sweep& sweep, const Sweeps& sweeps, double radius, Vec2 p, Windows& out) {
  switch (sweep.kind) {
  case SweepKind::line:
    line_window(sweep, radius, p, out);
    break;
  case SweepKind::arc:
    arc_windows(sweeps.arcs[sweep.arc], radius, p, out);
    break;
  case SweepKind::upright:
    if (norm(p - sweep.a) <= radius)
      out.add(0, 1);
    break;
  case SweepKind::none:
    break;
  }
}

void heights_over(const Sweep& sweep, const Sweeps& sweeps, const BodyPart& part, Vec2 p, HeightsList& out) {
  Windows windows;
  windows_over(sweep, sweeps, part.radius, p, windows);
  for (int n = 0; n < windows.count; ++n) {
    const Window& window = windows.at[static_cast<std::size_t>(n)];
    Heights h{};
    h.s0 = window.s0;
    h.distance = nearest(sweep, sweeps, p, window, h.s);
    const double z0 = sweep.z_at(window.s0), z1 = sweep.z_at(window.s1);
    if (part.flat) {
      h.low = std::min(z0, z1) + part.low;
      h.high = std::max(z0, z1) + part.high;
    } else if (is_level(sweep) || sweep.kind == SweepKind::arc) {
      const double d = std::min(h.distance, part.radius);
      h.low = std::min(z0, z1) + part.under.at(d);
      h.high = std::max(z0, z1) - part.over.at(d);
    } else {
      const Vec2 e = sweep.b - sweep.a, ap = p - sweep.a;
      const double length = norm(e), slope = (sweep.zb - sweep.za) / length;
      const double m = dot(e, ap) / length, aside = std::abs(cross(e, ap)) / length;
      const double x0 = window.s0 * length - m, x1 = window.s1 * length - m, z = sweep.za + slope * m;
      h.low = z + part.under.lowest(slope, aside, x0, x1);
      h.high = z - part.over.lowest(-slope, aside, x0, x1);
    }
    if (h.high > h.low)
      out.at[static_cast<std::size_t>(out.count++)] = h;
  }
}

void air_chords(const Sweep& sweep, const Sweeps& sweeps, const BodyPart& part, double z, Vec2 o, Vec2 d,
                Chords& out) {
  double s0, s1;
  if (!shares_spanning(sweep, part, z, s0, s1))
    return;
  double radius = part.radius;
  if (!part.flat) {
    if (is_level(sweep)) {
      radius = widest(sweep, part, z);
      if (radius <= 0)
        return;
      s0 = 0;
      s1 = 1;
    } else if (part.ball) {
      const Vec3 up{0, 0, part.low + part.radius};
      const Vec3 a = Vec3{sweep.a.x, sweep.a.y, sweep.za} + up, b = Vec3{sweep.b.x, sweep.b.y, sweep.zb} + up;
      Chord chord;
      if (ball_chord(a, b, part.radius, {o.x, o.y, z}, d, chord))
        out.add(chord.low, chord.high);
      BodyPart rod; // the cylinder above the half ball
      rod.radius = part.radius;
      rod.low = part.low + part.radius;
      rod.high = part.high;
      return air_chords(sweep, sweeps, rod, z, o, d, out);
    } else {
      return searched_chords(sweep, sweeps, part, z, o, d, out);
    }
  }
  if (sweep.kind == SweepKind::arc)
    return ArcBand(sweeps.arcs[sweep.arc], s0, s1, radius).chords(o, d, out);
  if (sweep.kind == SweepKind::none)
    return;
  const Vec2 e = sweep.b - sweep.a;
  Chord chord;
  if (Capsule(sweep.a + s0 * e, sweep.a + s1 * e, radius).chord(o, d, chord))
    out.add(chord.low, chord.high);
}

bool searched_within(const Sweep& sweep, const BodyPart& part, double z, Vec2 o, Vec2 d, Chord& bound) {
  return sweep.kind == SweepKind::line && !part.flat && !part.ball && !is_level(sweep) &&
         widest_chord(sweep, part, z, o, d, bound);
}

} // namespace snagmap
