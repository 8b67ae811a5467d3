#include "viz/draw/cutter_mesh.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

constexpr int kRound = 144;       // facets round the cutter
constexpr double kStep_mm = 0.25; // rings along the flutes, so that the winding edges look smooth

struct Ring {
  double r = 0, z = 0;
  Zone zone = Zone::flutes; ///< of the piece that ends here
};

/// The half profile as points; arcs in steps.
std::vector<Ring> rings_of(const CutterCard& cutter, double height) {
  std::vector<Ring> rings;
  for (const ProfilePiece& p : cutter.profile()) {
    if (p.z0_mm >= height && p.z1_mm >= height)
      break;
    if (rings.empty() || rings.back().r != p.r0_mm)
      rings.push_back({p.r0_mm, p.z0_mm, p.zone});
    const int steps = static_cast<int>(std::abs(p.z1_mm - p.z0_mm) / kStep_mm);
    int n = p.zone == Zone::flutes ? std::max(1, steps) : 1;
    double a0 = 0, a1 = 0, radius = 0;
    if (p.arc) {
      n = std::max(n, 12);
      radius = std::hypot(p.r0_mm - p.centre_r_mm, p.z0_mm - p.centre_z_mm);
      a0 = std::atan2(p.z0_mm - p.centre_z_mm, p.r0_mm - p.centre_r_mm);
      a1 = std::atan2(p.z1_mm - p.centre_z_mm, p.r1_mm - p.centre_r_mm);
    }
    for (int k = 1; k <= n; ++k) {
      const double t = static_cast<double>(k) / n, a = a0 + t * (a1 - a0);
      const Ring straight{p.r0_mm + t * (p.r1_mm - p.r0_mm), p.z0_mm + t * (p.z1_mm - p.z0_mm), p.zone};
      const Ring bent{p.centre_r_mm + radius * std::cos(a), p.centre_z_mm + radius * std::sin(a), p.zone};
      rings.push_back(p.arc ? bent : straight);
      if (rings.back().z > height) {
        rings.back().z = height;
        return rings;
      }
    }
  }
  return rings;
}

Colour mixed(Colour a, Colour b, double t) {
  const auto mix = [t](int p, int q) { return static_cast<std::uint8_t>(p + t * (q - p)); };
  return {mix(a.r, b.r), mix(a.g, b.g), mix(a.b, b.b), a.a};
}

/// Whether a place on the fluted part lies in the hollow between two edges.
bool in_hollow(const CutterCard& cutter, double angle, double z) {
  const double lead = 2 * z * std::tan(std::abs(cutter.helix_deg) > 0.5 ? cutter.helix_deg * M_PI / 180 : 0) /
                      std::max(cutter.diameter_mm, 0.1);
  const double share = (angle - lead) * std::max(cutter.flutes, 1) / (2 * M_PI);
  return share - std::floor(share) < 0.4;
}

} // namespace

Colour zone_colour(Zone zone) {
  switch (zone) {
  case Zone::flutes:
    return kFlutes;
  case Zone::neck:
    return kNeck;
  case Zone::shank:
    return kShank;
  case Zone::nut:
    return kNut;
  case Zone::holder:
    break;
  }
  return mixed(kNut, {0, 0, 0}, 0.3);
}

PaintedMesh cutter_mesh(const CutterCard& cutter, Vec3 tip, double height_mm,
                        const std::vector<TouchMark>& touches) {
  PaintedMesh out;
  const std::vector<Ring> rings = rings_of(cutter, height_mm);
  for (const Ring& ring : rings)
    for (int a = 0; a < kRound; ++a) {
      const double angle = 2 * M_PI * a / kRound;
      out.mesh.points.push_back(tip + Vec3{ring.r * std::cos(angle), ring.r * std::sin(angle), ring.z});
    }
  const auto triangle = [&](std::uint32_t a, std::uint32_t b, std::uint32_t c, Colour colour) {
    out.mesh.triangles.push_back({a, b, c});
    out.colours.push_back(colour);
  };
  for (std::size_t i = 0; i + 1 < rings.size(); ++i)
    for (int a = 0; a < kRound; ++a) {
      const double angle = 2 * M_PI * (a + 0.5) / kRound, z = 0.5 * (rings[i].z + rings[i + 1].z);
      Colour colour = zone_colour(rings[i + 1].zone);
      if (rings[i + 1].zone == Zone::flutes) {
        const Vec2 out_ward{std::cos(angle), std::sin(angle)};
        const bool touching = std::any_of(touches.begin(), touches.end(), [&](const TouchMark& t) {
          return z >= t.low_mm && z <= t.high_mm && dot(out_ward, t.toward) > 0.35;
        });
        if (touching)
          colour = kAlarm;
        if (in_hollow(cutter, angle, z))
          colour = mixed(colour, {255, 255, 255}, 0.55);
      }
      const auto row = static_cast<std::uint32_t>(i * kRound), next = row + kRound;
      const auto p = static_cast<std::uint32_t>(a), q = static_cast<std::uint32_t>((a + 1) % kRound);
      triangle(row + p, row + q, next + q, colour);
      triangle(row + p, next + q, next + p, colour);
    }
  if (!rings.empty()) {
    const auto last = static_cast<std::uint32_t>((rings.size() - 1) * kRound);
    const auto top = static_cast<std::uint32_t>(out.mesh.points.size());
    out.mesh.points.push_back(tip + Vec3{0, 0, rings.back().z});
    const auto foot = static_cast<std::uint32_t>(out.mesh.points.size());
    out.mesh.points.push_back(tip + Vec3{0, 0, rings.front().z});
    for (std::uint32_t a = 0; a < kRound; ++a) {
      triangle(top, last + a, last + (a + 1) % kRound,
               mixed(zone_colour(rings.back().zone), {255, 255, 255}, 0.3));
      triangle(foot, (a + 1) % kRound, a, kFlutes);
    }
  }
  return out;
}

void draw_cutter(Drawing& drawing, const CutterCard& cutter, double height_mm,
                 const std::function<Vec2(double, double)>& place, double line_px, double from_r) {
  const std::vector<Ring> rings = rings_of(cutter, height_mm);
  for (std::size_t i = 0; i + 1 < rings.size(); ++i) {
    const Ring &a = rings[i], &b = rings[i + 1];
    if (b.z - a.z < 1e-9)
      continue;
    drawing.shapes.emplace_back(std::in_place_type<Area>, Area{{place(from_r * a.r, a.z), place(a.r, a.z),
                                                                place(b.r, b.z), place(from_r * b.r, b.z)},
                                                               zone_colour(b.zone)});
  }
  // The winding edges of the flutes, as seen from the side.
  const double lead = std::tan(cutter.helix_deg * M_PI / 180) * 2 / std::max(cutter.diameter_mm, 0.1);
  for (int flute = 0; flute < 2 * std::max(cutter.flutes, 1) && from_r < 0; ++flute) {
    std::vector<Vec2> run;
    for (const Ring& ring : rings) {
      if (ring.zone != Zone::flutes)
        break;
      const double angle =
          M_PI * flute / std::max(cutter.flutes, 1) + 0.5 + ring.z * (std::abs(lead) > 1e-3 ? lead : 0);
      const bool front = std::sin(angle) > -0.02;
      if (front)
        run.push_back(place(ring.r * std::cos(angle), ring.z));
      if ((!front || &ring == &rings.back()) && run.size() > 1)
        drawing.line(run, Colour{214, 230, 236}, line_px);
      if (!front)
        run.clear();
    }
    if (run.size() > 1)
      drawing.line(run, Colour{214, 230, 236}, line_px);
  }
}

double radius_at(const CutterCard& cutter, double z_mm) {
  double most = 0;
  for (const ProfilePiece& p : cutter.profile()) {
    if (z_mm < std::min(p.z0_mm, p.z1_mm) || z_mm > std::max(p.z0_mm, p.z1_mm))
      continue;
    const double t = p.z1_mm > p.z0_mm ? (z_mm - p.z0_mm) / (p.z1_mm - p.z0_mm) : 1;
    most = std::max(most, p.r0_mm + t * (p.r1_mm - p.r0_mm));
  }
  return most;
}

double cutter_height_mm(const CutterCard& cutter) {
  double top = 0;
  for (const ProfilePiece& p : cutter.profile())
    top = std::max(top, p.z1_mm);
  return top;
}

} // namespace snagmap
