#include "sim/program/arc.hpp"

#include "models/constants.hpp"

#include <cmath>

namespace snagmap {
namespace {}

ArcFit arc_by_centre(Vec2 start, Vec2 end, Vec2 centre, bool anticlockwise) {
  const Vec2 a = start - centre, b = end - centre;
  double turn = std::atan2(cross(a, b), dot(a, b));
  if (anticlockwise && turn <= 0)
    turn += 2 * kPi;
  if (!anticlockwise && turn >= 0)
    turn -= 2 * kPi;
  return {centre, turn, std::abs(norm(a) - norm(b))};
}

ArcFit arc_by_radius(Vec2 start, Vec2 end, double radius_mm, bool anticlockwise) {
  const Vec2 chord = end - start;
  const double half = 0.5 * norm(chord), r = std::abs(radius_mm);
  const Vec2 middle = 0.5 * (start + end);
  if (half >= r)
    return {middle, anticlockwise ? kPi : -kPi, half - r};
  const double turn = 2 * std::asin(half / r);
  // The centre lies left of the chord for a short anticlockwise arc; each reversal swaps sides.
  const double side = (anticlockwise ? 1 : -1) * (radius_mm > 0 ? 1 : -1);
  const Vec2 centre = middle + (side * std::sqrt((r - half) * (r + half)) / (2 * half)) * left_of(chord);
  const double swept = radius_mm > 0 ? turn : 2 * kPi - turn;
  return {centre, anticlockwise ? swept : -swept, 0};
}

} // namespace snagmap
