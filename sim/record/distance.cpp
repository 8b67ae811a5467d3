#include "sim/record/distance.hpp"

#include "sim/record/mesh.hpp"

#include <cmath>

namespace snagmap {
namespace {

double box_distance(const Box3& box, Vec3 p) {
  const double x = std::max(box.low.x - p.x, p.x - box.high.x), y = std::max(box.low.y - p.y, p.y - box.high.y),
               z = std::max(box.low.z - p.z, p.z - box.high.z);
  if (x <= 0 && y <= 0 && z <= 0) return std::max({x, y, z});
  return norm(Vec3{std::max(x, 0.0), std::max(y, 0.0), std::max(z, 0.0)});
}

/// Least of f over a..b by golden section, for f with one dip.
template <class F> double least_of(double a, double b, const F& f) {
  constexpr double kGolden = 0.38196601125010515;
  double x = a + kGolden * (b - a), y = b - kGolden * (b - a), fx = f(x), fy = f(y);
  double least = std::min({f(a), f(b), fx, fy});
  for (int n = 0; n < 40; ++n) {
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
  case SweepKind::none: return 1e300;
  case SweepKind::upright: {
    const double d = norm(q - sweep.a), z0 = std::min(sweep.za, sweep.zb), z1 = std::max(sweep.za, sweep.zb);
    if (z0 == z1) return part.distance(d, p.z - z0);
    return least_of(z0, z1, [&](double z) { return part.distance(d, p.z - z); });
  }
  case SweepKind::line: {
    const Vec2 e = sweep.b - sweep.a;
    const double at = std::clamp(dot(e, q - sweep.a) / dot(e, e), 0.0, 1.0);
    if (sweep.za == sweep.zb) return part.distance(norm(q - (sweep.a + at * e)), p.z - sweep.za);
    return least_of(0, 1, [&](double s) { return part.distance(norm(q - (sweep.a + s * e)), p.z - sweep.z_at(s)); });
  }
  case SweepKind::arc: {
    const SweptArc& arc = sweeps.arcs[sweep.arc];
    const auto at = [&](double s) {
      const double angle = arc.angle0 + s * arc.turn;
      return part.distance(norm(q - arc.centre - arc.radius * Vec2{std::cos(angle), std::sin(angle)}), p.z - sweep.z_at(s));
    };
    // One dip a turn, about where the arm points at p; the ends may be nearer.
    constexpr double kTwoPi = 6.283185307179586476925286766559;
    const Vec2 cp = q - arc.centre;
    const double turn = std::abs(arc.turn);
    double angle = (std::atan2(cp.y, cp.x) - arc.angle0) * (arc.turn < 0 ? -1 : 1);
    angle -= kTwoPi * std::floor(angle / kTwoPi);
    double least = std::min(at(0), at(1));
    for (double a = angle - kTwoPi; a <= turn + kTwoPi / 2; a += kTwoPi) {
      const double s0 = std::clamp((a - kTwoPi / 2) / turn, 0.0, 1.0), s1 = std::clamp((a + kTwoPi / 2) / turn, 0.0, 1.0);
      if (sweep.za == sweep.zb) least = std::min(least, at(std::clamp(a / turn, 0.0, 1.0)));
      else if (s1 > s0) least = std::min(least, least_of(s0, s1, at));
    }
    return least;
  }
  }
  return 1e300;
}

} // namespace

double foam_distance(const RecordData& data, Vec3 p, Moment t, double reach_mm) {
  const ColumnGrid& grid = data.grid;
  double foam = box_distance(grid.box, p);
  const double bx = grid.dx * (1 << grid.block_shift), by = grid.dy * (1 << grid.block_shift);
  const int side_bits = kTileShift - grid.block_shift, side = 1 << side_bits;
  const auto block = [&](double v, double size, int count) {
    return std::clamp(static_cast<int>(std::floor(v / size)), 0, (count - 1) >> grid.block_shift);
  };
  const int x0 = block(p.x - reach_mm - grid.box.low.x, bx, grid.nx), x1 = block(p.x + reach_mm - grid.box.low.x, bx, grid.nx);
  const int y0 = block(p.y - reach_mm - grid.box.low.y, by, grid.ny), y1 = block(p.y + reach_mm - grid.box.low.y, by, grid.ny);
  if (!data.mesh.triangles.empty()) foam = std::max(foam, mesh_distance(data.mesh, grid, p, x0, x1, y0, y1, reach_mm));
  const std::uint32_t done = data.sweeps.count_at(t);
  double air = 1e300;
  for (int y = y0; y <= y1; ++y) {
    for (int x = x0; x <= x1; ++x) {
      const Tile& tile = data.tiles[static_cast<std::size_t>((y >> side_bits) * grid.tiles_x + (x >> side_bits))];
      if (tile.runs.empty()) continue;
      const std::size_t b = static_cast<std::size_t>((y & (side - 1)) * side + (x & (side - 1)));
      for (std::uint32_t n = tile.run_offset[b]; n < tile.run_offset[b + 1] && tile.runs[n].first < done; ++n) {
        const SweepRun& run = tile.runs[n];
        if (p.z < run.low - reach_mm || p.z > run.high + reach_mm || p.x < run.x0 - reach_mm ||
            p.x > run.x1 + reach_mm || p.y < run.y0 - reach_mm || p.y > run.y1 + reach_mm)
          continue;
        for (std::uint32_t k = run.first; k < std::min(run.first + run.count, done); ++k) {
          const Sweep& sweep = data.sweeps.sweeps[k];
          for (const BodyPart& part : data.bodies[sweep.body].flutes)
            air = std::min(air, sweep_distance(sweep, data.sweeps, part, p));
        }
      }
    }
  }
  return std::max(foam, -air);
}

} // namespace snagmap
