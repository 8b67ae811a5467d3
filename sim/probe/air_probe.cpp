#include "sim/probe/air_probe.hpp"

#include "models/base/finite.hpp"
#include "sim/record/mesh.hpp"
#include "sim/record/near.hpp"

namespace snagmap {
namespace {

constexpr double kOnWall_mm = 1e-6; ///< a point this near a wall counts as on it, not in the air beyond

}

void AirProbe::aim(Vec2 centre, double reach_mm, double z, Moment t) {
  require_finite("the place an air probe is aimed at", centre.x, centre.y, reach_mm, z);
  discs_.clear();
  others_.clear();
  z_ = z;
  centre_ = centre;
  reach_ = reach_mm;
  const Vec3 low{centre.x - reach_mm, centre.y - reach_mm, z},
      high{centre.x + reach_mm, centre.y + reach_mm, z};
  for_sweeps_near(data_, {low, high}, data_.sweeps.count_at(t), [&](std::uint32_t n) {
    const Sweep sweep = data_.sweeps[n];
    add(sweep, sweep.kind == SweepKind::arc ? &data_.sweeps.arcs[sweep.arc] : nullptr);
  });
}

void AirProbe::add_part(const Sweep& sweep, double s) {
  Sweep part = sweep;
  part.b = sweep.a + s * (sweep.b - sweep.a);
  part.zb = sweep.z_at(s);
  if (part.kind == SweepKind::line && part.b.x == part.a.x && part.b.y == part.a.y)
    part.kind = SweepKind::upright;
  if (sweep.kind != SweepKind::arc)
    return add(part, nullptr);
  SweptArc arc = data_.sweeps.arcs[sweep.arc];
  arc.turn *= s;
  if (arc.turn != 0)
    add(part, &arc);
}

void AirProbe::add(const Sweep& sweep, const SweptArc* arc) {
  const Body& body = data_.bodies[sweep.body];
  if (sweep.kind == SweepKind::none)
    return;
  if (arc) {
    others_.emplace_back(sweep, *arc);
    return;
  }
  const Vec2 off = centre_ - sweep.a, e = sweep.b - sweep.a;
  const double l2 = dot(e, e), s = l2 > 0 ? std::clamp(dot(off, e) / l2, 0.0, 1.0) : 0;
  const Vec2 nearest = off - s * e;
  const double far = reach_ + body.flute_radius;
  if (dot(nearest, nearest) >= far * far)
    return;
  const bool level = is_level(sweep);
  if (!level && !body.flat) {
    others_.emplace_back(sweep, SweptArc{});
    return;
  }
  for (const BodyPart& part : body.flutes) {
    double s0 = 0, s1 = 1, r = part.radius;
    const double below = z_ - std::max(sweep.za, sweep.zb), above = z_ - std::min(sweep.za, sweep.zb);
    if (above < part.low || below >= part.high)
      continue;
    if (level && !part.flat) {
      r = std::min(part.under.radius_at(std::min(above, part.high)),
                   part.over.radius_at(-std::max(below, part.low)));
    } else if (!level) {
      const double rise = 1 / (sweep.zb - sweep.za);
      const double sl = (z_ - part.low - sweep.za) * rise, sh = (z_ - part.high - sweep.za) * rise;
      s0 = std::max(0.0, std::min(sl, sh));
      s1 = std::min(1.0, std::max(sl, sh));
      if (s0 > s1)
        continue;
    }
    r -= kOnWall_mm;
    if (r <= 0)
      continue;
    const Vec2 way = (s1 - s0) * e;
    const double way2 = dot(way, way);
    discs_.push_back({sweep.a + s0 * e, way, way2 > 0 ? 1 / way2 : 0, r * r});
  }
}

bool AirProbe::air(Vec2 p) const {
  const Box3& box = data_.grid.box;
  if (p.x < box.low.x || p.x > box.high.x || p.y < box.low.y || p.y > box.high.y || z_ < box.low.z ||
      z_ >= box.high.z)
    return true;
  for (std::size_t n = discs_.size(); n > 0; --n) { // the latest moves are the likeliest
    const Disc& disc = discs_[n - 1];
    const Vec2 ap = p - disc.a;
    const Vec2 off = ap - std::clamp(dot(ap, disc.e) * disc.inverse_l2, 0.0, 1.0) * disc.e;
    if (dot(off, off) < disc.r2)
      return true;
  }
  for (const auto& [sweep, arc] : others_) {
    const double most = data_.bodies[sweep.body].flute_radius;
    if (sweep.kind == SweepKind::arc && std::abs(norm(p - arc.centre) - arc.radius) >= most)
      continue;
    Sweeps own;
    Sweep copy = sweep;
    copy.arc = 0;
    own.arcs.push_back(arc);
    for (const BodyPart& part : data_.bodies[sweep.body].flutes) {
      HeightsList list;
      heights_over(copy, own, part, p, list);
      for (int n = 0; n < list.count; ++n) {
        const Heights& h = list.at[static_cast<std::size_t>(n)];
        if (h.low <= z_ && z_ < h.high && h.distance < part.radius - kOnWall_mm)
          return true;
      }
    }
  }
  return !data_.mesh.triangles.empty() && !inside_mesh(data_.mesh, data_.grid, {p.x, p.y, z_});
}

} // namespace snagmap
