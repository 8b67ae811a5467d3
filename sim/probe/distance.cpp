#include "sim/probe/distance.hpp"

#include "models/base/constants.hpp"
#include "sim/record/mesh.hpp"
#include "sim/record/near.hpp"

#include <cmath>

namespace snagmap {
namespace {

double box_distance(const Box3& box, Vec3 p) {
  const double x = std::max(box.low.x - p.x, p.x - box.high.x),
               y = std::max(box.low.y - p.y, p.y - box.high.y),
               z = std::max(box.low.z - p.z, p.z - box.high.z);
  if (x <= 0 && y <= 0 && z <= 0)
    return std::max({x, y, z});
  return norm(Vec3{std::max(x, 0.0), std::max(y, 0.0), std::max(z, 0.0)});
}

/// Least of f over a..b by golden section, for f with one dip, which changes by at most `slope_mm` a unit of
/// its variable: to a micrometre, as far as 40 steps get.
template <class F> double least_of(double a, double b, double slope_mm, const F& f) {
  constexpr double kEnough_mm = 1e-3;
  constexpr double kGolden = 0.38196601125010515;
  double x = a + kGolden * (b - a), y = b - kGolden * (b - a), fx = f(x), fy = f(y);
  double least = std::min({f(a), f(b), fx, fy});
  for (int n = 0; n < 40 && (b - a) * slope_mm > kEnough_mm; ++n) {
    if (fx < fy) {
      b = y, y = x, fy = fx;
      x = a + kGolden * (b - a);
      fx = f(x);
      least = std::min(least, fx);
    } else {
      a = x, x = y, fx = fy;
      y = b - kGolden * (b - a);
      fy = f(y);
      least = std::min(least, fy);
    }
  }
  return least;
}

double sweep_distance(const Sweep& sweep, const Sweeps& sweeps, const BodyPart& part, Vec3 p) {
  const Vec2 q = xy(p);
  switch (sweep.kind) {
  case SweepKind::none:
    return 1e300;
  case SweepKind::upright: {
    const double d = norm(q - sweep.a), z0 = std::min(sweep.za, sweep.zb), z1 = std::max(sweep.za, sweep.zb);
    if (z0 == z1)
      return part.distance(d, p.z - z0);
    return least_of(z0, z1, 1, [&](double z) { return part.distance(d, p.z - z); });
  }
  case SweepKind::line: {
    const Vec2 e = sweep.b - sweep.a;
    const double at = std::clamp(dot(e, q - sweep.a) / dot(e, e), 0.0, 1.0);
    if (sweep.za == sweep.zb)
      return part.distance(norm(q - (sweep.a + at * e)), p.z - sweep.za);
    return least_of(0, 1, norm(e) + std::abs(sweep.zb - sweep.za), [&](double s) {
      return part.distance(norm(q - (sweep.a + s * e)), p.z - sweep.z_at(s));
    });
  }
  case SweepKind::arc: {
    const SweptArc& arc = sweeps.arcs[sweep.arc];
    const auto at = [&](double s) {
      const double angle = arc.angle0 + s * arc.turn;
      return part.distance(norm(q - arc.centre - arc.radius * Vec2{std::cos(angle), std::sin(angle)}),
                           p.z - sweep.z_at(s));
    };
    // One dip a turn, about where the arm points at p; the ends may be nearer.
    constexpr double kTwoPi = 6.283185307179586476925286766559;
    const Vec2 cp = q - arc.centre;
    const double turn = std::abs(arc.turn);
    double angle = (std::atan2(cp.y, cp.x) - arc.angle0) * (arc.turn < 0 ? -1 : 1);
    angle -= kTwoPi * std::floor(angle / kTwoPi);
    double least = std::min(at(0), at(1));
    for (double a = angle - kTwoPi; a <= turn + kTwoPi / 2; a += kTwoPi) {
      const double s0 = std::clamp((a - kTwoPi / 2) / turn, 0.0, 1.0),
                   s1 = std::clamp((a + kTwoPi / 2) / turn, 0.0, 1.0);
      if (sweep.za == sweep.zb)
        least = std::min(least, at(std::clamp(a / turn, 0.0, 1.0)));
      else if (s1 > s0)
        least = std::min(least, least_of(s0, s1, arc.radius * turn + std::abs(sweep.zb - sweep.za), at));
    }
    return least;
  }
  }
  return 1e300;
}

/// Never more than the distance, and cheap: the plan of the whole way with the largest radius, the whole
/// height.
double at_least(const Sweep& sweep, const Sweeps& sweeps, const BodyPart& part, Vec3 p) {
  const double dv =
      std::max(std::min(sweep.za, sweep.zb) + part.low - p.z, p.z - std::max(sweep.za, sweep.zb) - part.high);
  double d;
  if (sweep.kind == SweepKind::arc) {
    const SweptArc& arc = sweeps.arcs[sweep.arc];
    d = std::abs(norm(xy(p) - arc.centre) - arc.radius);
  } else {
    const Vec2 e = sweep.b - sweep.a, off = xy(p) - sweep.a;
    const double l2 = dot(e, e);
    d = norm(off - (l2 > 0 ? std::clamp(dot(off, e) / l2, 0.0, 1.0) : 0.0) * e);
  }
  return std::max(d - part.radius, dv);
}

} // namespace

void FoamDistance::aim(const Box3& about, double reach_mm) {
  strokes_.clear();
  others_.clear();
  reach_mm_ = reach_mm;
  const Vec3 margin{reach_mm, reach_mm, reach_mm};
  const Box3 box{about.low - margin, about.high + margin};
  const BlockRange blocks(data_.grid, {data_.grid, xy(box.low), xy(box.high)});
  x0_ = blocks.x0, x1_ = blocks.x1, y0_ = blocks.y0, y1_ = blocks.y1;
  for_sweeps_near(data_, box, done_, [&](std::uint32_t n) { add(n, box); });
  merge_layers();
  std::sort(others_.begin(), others_.end());
  others_.erase(std::unique(others_.begin(), others_.end()), others_.end());
  bend_arcs(0.5 * (about.low + about.high), reach_mm + 0.5 * norm(about.high - about.low));
}

/// Drops what is too far from the middle to matter anywhere in the box, and takes level arcs out of the rest.
void FoamDistance::bend_arcs(Vec3 middle, double far_mm) {
  bends_.clear();
  const auto taken = [&](const Other& other) {
    const Sweep sweep = data_.sweeps[other.sweep];
    const BodyPart& part = data_.bodies[sweep.body].flutes[other.part];
    if (at_least(sweep, data_.sweeps, part, middle) > far_mm)
      return true;
    if (sweep.kind != SweepKind::arc || sweep.za != sweep.zb || !part.flat)
      return false;
    const SweptArc& arc = data_.sweeps.arcs[sweep.arc];
    if (std::abs(arc.turn) >= 2 * kPi)
      return false;
    const auto arm = [&](double s) {
      const double angle = arc.angle0 + s * arc.turn;
      return arc.radius * Vec2{std::cos(angle), std::sin(angle)};
    };
    Bend bend{arc.centre,
              arm(0),
              arm(1),
              arc.radius,
              part.radius,
              sweep.za + part.low,
              sweep.za + part.high,
              std::abs(arc.turn) > kPi};
    if (arc.turn < 0)
      std::swap(bend.e0, bend.e1);
    bends_.push_back(bend);
    return true;
  };
  others_.erase(std::remove_if(others_.begin(), others_.end(), taken), others_.end());
}

void FoamDistance::add(std::uint32_t index, const Box3& reach) {
  const Sweep sweep = data_.sweeps[index];
  const Body& body = data_.bodies[sweep.body];
  const bool straight = sweep.kind == SweepKind::line || sweep.kind == SweepKind::upright;
  if (straight) {
    // Too far aside of the whole box: half its diagonal and the radius from its middle.
    const Vec2 middle = 0.5 * (xy(reach.low) + xy(reach.high)), e = sweep.b - sweep.a, off = middle - sweep.a;
    const double l2 = dot(e, e), s = l2 > 0 ? std::clamp(dot(off, e) / l2, 0.0, 1.0) : 0;
    const double far = body.flute_radius + 0.5 * norm(xy(reach.high) - xy(reach.low));
    const Vec2 aside = off - s * e;
    if (dot(aside, aside) > far * far)
      return;
  }
  for (std::uint32_t n = 0; n < body.flutes.size(); ++n) {
    const BodyPart& part = body.flutes[n];
    const double low = std::min(sweep.za, sweep.zb) + part.low,
                 high = std::max(sweep.za, sweep.zb) + part.high;
    if (straight && is_level(sweep) && part.flat) {
      const bool swap = sweep.b.x < sweep.a.x || (sweep.b.x == sweep.a.x && sweep.b.y < sweep.a.y);
      strokes_.push_back({swap ? sweep.b : sweep.a, swap ? sweep.a : sweep.b, part.radius, low, high});
    } else {
      others_.push_back({index, n});
    }
  }
}

/// Layers of a pocket that follow one way make one taller stroke; sweeps listed in several blocks become one.
void FoamDistance::merge_layers() {
  const auto same_way = [](const Stroke& s, const Stroke& t) {
    return s.a.x == t.a.x && s.a.y == t.a.y && s.b.x == t.b.x && s.b.y == t.b.y && s.radius == t.radius;
  };
  std::sort(strokes_.begin(), strokes_.end(), [](const Stroke& s, const Stroke& t) {
    const double u[] = {s.a.x, s.a.y, s.b.x, s.b.y, s.radius, s.low},
                 v[] = {t.a.x, t.a.y, t.b.x, t.b.y, t.radius, t.low};
    return std::lexicographical_compare(u, u + 6, v, v + 6);
  });
  std::size_t kept = 0;
  for (const Stroke& stroke : strokes_) {
    if (kept > 0 && same_way(strokes_[kept - 1], stroke) && stroke.low <= strokes_[kept - 1].high)
      strokes_[kept - 1].high = std::max(strokes_[kept - 1].high, stroke.high);
    else
      strokes_[kept++] = stroke;
  }
  strokes_.resize(kept);
}

double FoamDistance::at(Vec3 p) const {
  double foam = box_distance(data_.grid.box, p);
  if (!data_.mesh.triangles.empty())
    foam = std::max(foam, mesh_distance(data_.mesh, data_.grid, p, x0_, x1_, y0_, y1_, reach_mm_));
  double air = reach_mm_;
  const Vec2 q = xy(p);
  for (const Stroke& stroke : strokes_) {
    const Vec2 e = stroke.b - stroke.a, off = q - stroke.a;
    const double l2 = dot(e, e), s = l2 > 0 ? std::clamp(dot(off, e) / l2, 0.0, 1.0) : 0;
    const Vec2 aside = off - s * e;
    const double d2 = dot(aside, aside), dv = std::max(stroke.low - p.z, p.z - stroke.high);
    // Only strokes that may come nearer need their root.
    const double far = air + stroke.radius;
    if (dv >= air || (far > 0 && d2 >= far * far))
      continue;
    const double dh = std::sqrt(d2) - stroke.radius;
    air = std::min(air, dh > 0 && dv > 0 ? std::hypot(dh, dv) : std::max(dh, dv));
  }
  for (const Bend& bend : bends_) {
    const double dv = std::max(bend.low - p.z, p.z - bend.high);
    if (dv >= air)
      continue;
    const Vec2 cp = q - bend.centre;
    const bool after = cross(bend.e0, cp) >= 0, before = cross(cp, bend.e1) >= 0;
    const bool beside = bend.wide ? after || before : after && before;
    const double d =
        beside ? std::abs(norm(cp) - bend.ring)
               : std::sqrt(std::min(dot(cp - bend.e0, cp - bend.e0), dot(cp - bend.e1, cp - bend.e1)));
    const double dh = d - bend.radius;
    air = std::min(air, dh > 0 && dv > 0 ? std::hypot(dh, dv) : std::max(dh, dv));
  }
  for (const Other& other : others_) {
    const Sweep sweep = data_.sweeps[other.sweep];
    const BodyPart& part = data_.bodies[sweep.body].flutes[other.part];
    if (at_least(sweep, data_.sweeps, part, p) < air)
      air = std::min(air, sweep_distance(sweep, data_.sweeps, part, p));
  }
  return std::max(foam, -air);
}

} // namespace snagmap
