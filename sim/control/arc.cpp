#include "sim/control/arc.hpp"

#include "models/base/constants.hpp"

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

namespace {

constexpr double kClose_mm = 0.002; // nearer than this a mean circle passes both ends within a micrometre

/// The given centre moved to the nearest place as far from the one end as from the other.
ArcPiece through(Vec2 start, Vec2 end, Vec2 centre, double turn_rad) {
  const Vec2 chord = end - start;
  const double length2 = dot(chord, chord);
  if (length2 > 0)
    centre = centre - (dot(centre - 0.5 * (start + end), chord) / length2) * chord;
  const Vec2 a = start - centre, b = end - centre;
  double turn = std::atan2(cross(a, b), dot(a, b));
  if (turn_rad > 0 && turn <= 0)
    turn += 2 * kPi;
  if (turn_rad < 0 && turn >= 0)
    turn -= 2 * kPi;
  return {end, centre, turn};
}

} // namespace

int through_both_ends(Vec2 start, Vec2 end, const ArcFit& fit, ArcPiece (&pieces)[2]) {
  if (fit.mismatch_mm <= kClose_mm) {
    pieces[0] = {end, fit.centre, fit.turn_rad};
    return 1;
  }
  // One circle moves the centre by mismatch x radius / chord at most; past three quarters of a turn the chord
  // grows short, and two halves with a place of the spiral between them stay within the mismatch.
  if (std::abs(fit.turn_rad) <= 1.5 * kPi) {
    pieces[0] = through(start, end, fit.centre, fit.turn_rad);
    return 1;
  }
  const Vec2 arm = start - fit.centre;
  const double half = 0.5 * fit.turn_rad, c = std::cos(half), s = std::sin(half);
  const double grown = 0.5 * (1 + norm(end - fit.centre) / norm(arm));
  const Vec2 middle = fit.centre + Vec2{grown * (arm.x * c - arm.y * s), grown * (arm.x * s + arm.y * c)};
  pieces[0] = through(start, middle, fit.centre, half);
  pieces[1] = through(middle, end, fit.centre, half);
  return 2;
}

} // namespace snagmap
