#include "viz/skin/tile_crossings.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

constexpr int kRing =
    2; // nodes gathered beyond the tile: one for the cells that close its quads, one for what they ask

/// Slope from the one or two neighbours on the same sheet; of two that disagree the flatter, which is right
/// beside a step.
double slope(bool has_a, double a, bool has_b, double b) {
  if (has_a && has_b)
    return std::abs(a - b) < 0.2 * (std::abs(a) + std::abs(b)) ? 0.5 * (a + b)
           : std::abs(a) < std::abs(b)                         ? a
                                                               : b;
  return has_a ? a : has_b ? b : 0;
}

} // namespace

TileCrossings::TileCrossings(const FoamField& field, const TileRange& range)
    : f_(field), r_(range), i0_(range.x0 - kRing), j0_(range.y0 - kRing),
      ni_(range.x1 - range.x0 + 1 + 2 * kRing), nj_(range.y1 - range.y0 + 1 + 2 * kRing),
      nk_(static_cast<int>(field.levels_mm.size())) {
  gather();
  find_floors();
  cross();
}

void TileCrossings::gather() {
  slabs_.resize(static_cast<std::size_t>(ni_) * static_cast<std::size_t>(nj_));
  solid_.assign(slabs_.size() * static_cast<std::size_t>(nk_), 0);
  for (int j = j0_; j < j0_ + nj_; ++j)
    for (int i = i0_; i < i0_ + ni_; ++i) {
      if (!inside(i, j))
        continue;
      auto& column = slabs_[column_index(i, j)];
      column = f_.column({x(i), y(j)});
      for (const Slab& slab : column)
        for (int k = 0; k < nk_; ++k)
          if (z(k) > slab.low_mm && z(k) < slab.high_mm)
            solid_[node(i, j, k)] = 1;
    }
}

void TileCrossings::find_floors() {
  floor_.assign(slabs_.size(), 0);
  if (!f_.keep_fine)
    return;
  for (int j = r_.y0; j + kFloor <= r_.y1; j += kFloor)
    for (int i = r_.x0; i + kFloor <= r_.x1; i += kFloor) {
      if (i < 1 || j < 1 || !alike(i, j) ||
          f_.keep_fine({x(i - 1), y(j - 1)}, {x(i + kFloor), y(j + kFloor)}))
        continue;
      floors_.push_back({i, j});
      for (int b = j; b < j + kFloor; ++b)
        for (int a = i; a < i + kFloor; ++a) {
          const bool rim = a == i || b == j || a == i + kFloor - 1 || b == j + kFloor - 1;
          floor_[column_index(a, b)] = rim ? kRim : kInner;
        }
    }
}

bool TileCrossings::alike(int i, int j) const {
  const auto& first = slabs_[column_index(i, j)];
  for (int b = j; b < j + kFloor; ++b)
    for (int a = i; a < i + kFloor; ++a) {
      const auto& other = slabs_[column_index(a, b)];
      if (!inside(a, b) || other.size() != first.size())
        return false;
      for (std::size_t s = 0; s < first.size(); ++s)
        if (other[s].low_mm != first[s].low_mm || other[s].high_mm != first[s].high_mm)
          return false;
    }
  return true;
}

double TileCrossings::height(int i, int j, int k) const {
  const bool top = solid(i, j, k); // foam below, air above
  for (const Slab& slab : slabs_[column_index(i, j)]) {
    const double h = top ? slab.high_mm : slab.low_mm;
    if (h >= z(k) && h <= z(k + 1))
      return h;
  }
  return 0.5 * (z(k) + z(k + 1));
}

/// Same, at a neighbour whose crossing may lie one level off; false when there is none.
bool TileCrossings::height_near(int i, int j, int k, bool top, double& h) const {
  for (const int n : {k, k - 1, k + 1}) {
    if (n < 0 || n + 1 >= nk_ || solid(i, j, n) == solid(i, j, n + 1) || solid(i, j, n) != top)
      continue;
    h = height(i, j, n);
    return true;
  }
  return false;
}

Crossing TileCrossings::vertical(int i, int j, int k) const {
  const bool top = solid(i, j, k);
  Crossing c{{x(i), y(j), height(i, j, k)}, {0, 0, top ? 1.0 : -1.0}};
  if (f_.level_floors)
    return c;
  double a = 0, b = 0, slopes[2] = {0, 0};
  for (int axis = 0; axis < 2; ++axis) {
    const int di = axis == 0, dj = axis == 1;
    const double step_a = di ? x(i) - x(i - 1) : y(j) - y(j - 1),
                 step_b = di ? x(i + 1) - x(i) : y(j + 1) - y(j);
    const bool has_a = height_near(i - di, j - dj, k, top, a), has_b = height_near(i + di, j + dj, k, top, b);
    slopes[axis] = slope(has_a, (c.place.z - a) / step_a, has_b, (b - c.place.z) / step_b);
  }
  const double sign = top ? 1 : -1;
  c.normal = unit({-sign * slopes[0], -sign * slopes[1], sign});
  return c;
}

/// Wall between two neighbouring columns at a level. `d` is the node step in plan.
Crossing TileCrossings::sideways(int i, int j, int k, int di, int dj) const {
  const bool first_solid = solid(i, j, k);
  const int ai = first_solid ? i + di : i, aj = first_solid ? j + dj : j; // the air node
  const Vec2 dir = (first_solid ? -1.0 : 1.0) * Vec2{static_cast<double>(di), static_cast<double>(dj)};
  const Vec3 air{x(ai), y(aj), z(k)}, to{x(first_solid ? i : i + di), y(first_solid ? j : j + dj), z(k)};
  const double span = norm(xy(to) - xy(air));
  const Vec3 back{-dir.x, -dir.y, 0};
  if (!inside(ai, aj)) { // the sheet's own side
    Crossing c{to, back};
    if (di)
      c.place.x = dir.x > 0 ? f_.box.low.x : f_.box.high.x;
    else
      c.place.y = dir.y > 0 ? f_.box.low.y : f_.box.high.y;
    return c;
  }
  const double gap = std::min(f_.gap(air, dir, span), span);
  const Vec3 along{dir.x, dir.y, 0};
  // Slope of the wall in plan from two looks a little to either side.
  const Vec2 side = left_of(dir);
  const double shift = span / 8, cap = 4 * span;
  const auto aside = [&](double s, double& g) {
    const Vec3 from{air.x + s * side.x, air.y + s * side.y, air.z};
    g = f_.gap(from, dir, cap);
    return g > 0 && g < cap;
  };
  double a = 0, b = 0;
  const bool has_a = aside(-shift, a), has_b = aside(shift, b);
  const double plan = slope(has_a, (gap - a) / shift, has_b, (b - gap) / shift);
  double tilt = 0;
  if (!f_.upright_walls) {
    const double rise = 0.125 * span;
    const auto above = [&](double s, double& g) {
      g = f_.gap(air + Vec3{0, 0, s}, dir, cap);
      return g > 0 && g < cap;
    };
    const bool has_low = above(-rise, a), has_high = above(rise, b);
    tilt = slope(has_low, (gap - a) / rise, has_high, (b - gap) / rise);
  }
  return {air + gap * along, unit(Vec3{-dir.x + plan * side.x, -dir.y + plan * side.y, tilt})};
}

void TileCrossings::cross() {
  for (auto& list : at_)
    list.assign(solid_.size(), -1);
  // Crossings of the cells fitted: one ring around the tile.
  const int i_end = r_.x1, j_end = r_.y1;
  for (int j = r_.y0 - 1; j <= j_end; ++j)
    for (int i = r_.x0 - 1; i <= i_end; ++i)
      for (int k = 0; k < nk_ && floor_[column_index(i, j)] != kInner; ++k) {
        const bool here = solid(i, j, k);
        if (i < i_end && solid(i + 1, j, k) != here)
          keep(0, i, j, k, sideways_again(i, j, k, 1, 0));
        if (j < j_end && solid(i, j + 1, k) != here)
          keep(1, i, j, k, sideways_again(i, j, k, 0, 1));
        if (k + 1 < nk_ && solid(i, j, k + 1) != here)
          keep(2, i, j, k, vertical(i, j, k));
      }
}

void TileCrossings::keep(std::size_t axis, int i, int j, int k, const Crossing& c) {
  at_[axis][node(i, j, k)] = static_cast<std::int32_t>(crossings_.size());
  crossings_.push_back(c);
}

/// An upright wall that stands where it stood one level below needs one look, not three.
Crossing TileCrossings::sideways_again(int i, int j, int k, int di, int dj) const {
  const std::int32_t below = k > 0 ? at_[di ? 0 : 1][node(i, j, k - 1)] : -1;
  if (below >= 0 && f_.upright_walls && solid(i, j, k) == solid(i, j, k - 1) && inside(i, j) &&
      inside(i + di, j + dj)) {
    const Crossing& known = crossings_[static_cast<std::size_t>(below)];
    const bool first_solid = solid(i, j, k);
    const Vec2 air = first_solid ? Vec2{x(i + di), y(j + dj)} : Vec2{x(i), y(j)};
    const Vec2 dir = (first_solid ? -1.0 : 1.0) * Vec2{static_cast<double>(di), static_cast<double>(dj)};
    const double span = di ? x(i + 1) - x(i) : y(j + 1) - y(j);
    const double gap = std::min(f_.gap({air.x, air.y, z(k)}, dir, span), span);
    if (std::abs(gap - norm(xy(known.place) - air)) < 1e-9)
      return {{known.place.x, known.place.y, z(k)}, known.normal};
  }
  return sideways(i, j, k, di, dj);
}

} // namespace snagmap
