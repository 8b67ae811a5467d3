#include "sim/path/path.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

constexpr double kPi = 3.14159265358979323846, kTwoPi = 2 * kPi;

/// The plane's two axes and the third, in the order that makes G3 anticlockwise about the positive normal.
struct PlaneView {
  Vec2 in;
  double third;
};
PlaneView seen(const Move& move, Vec3 p) {
  switch (move.plane) {
  case ArcPlane::zx:
    return {{p.z, p.x}, p.y};
  case ArcPlane::yz:
    return {{p.y, p.z}, p.x};
  case ArcPlane::xy:
    break;
  }
  return {{p.x, p.y}, p.z};
}
Vec3 unseen(const Move& move, Vec2 in, double third) {
  switch (move.plane) {
  case ArcPlane::zx:
    return {in.y, third, in.x};
  case ArcPlane::yz:
    return {third, in.x, in.y};
  case ArcPlane::xy:
    break;
  }
  return {in.x, in.y, third};
}
bool stands_still(const Move& move) {
  return move.kind == MoveKind::dwell || move.kind == MoveKind::stop || move.kind == MoveKind::tool_change;
}

} // namespace

double arc_turn_rad(const Move& move) {
  const Vec2 a = seen(move, move.from).in - move.centre, b = seen(move, move.to).in - move.centre;
  double turn = std::atan2(cross(a, b), dot(a, b));
  // The float's sense decides; a turn of (nearly) zero between equal ends is a whole circle.
  if (move.turn_rad > 0 && turn <= 0)
    turn += kTwoPi;
  if (move.turn_rad < 0 && turn >= 0)
    turn -= kTwoPi;
  // Rounded ends may fall on the wrong side of the seam: the float knows which it was.
  if (std::abs(turn - static_cast<double>(move.turn_rad)) > 3.14)
    turn += move.turn_rad > turn ? kTwoPi : -kTwoPi;
  return turn + std::copysign(kTwoPi * move.full_turns, static_cast<double>(move.turn_rad));
}

double length_mm(const Move& move) {
  if (stands_still(move))
    return 0;
  if (move.kind != MoveKind::arc)
    return norm(move.to - move.from);
  const PlaneView a = seen(move, move.from), b = seen(move, move.to);
  const double along = norm(a.in - move.centre) * arc_turn_rad(move);
  return std::hypot(along, b.third - a.third);
}

Vec3 point_at(const Move& move, double s) {
  if (move.kind != MoveKind::arc)
    return move.from + s * (move.to - move.from);
  if (s <= 0)
    return move.from;
  if (s >= 1)
    return move.to;
  const PlaneView a = seen(move, move.from), b = seen(move, move.to);
  const Vec2 arm = a.in - move.centre, end_arm = b.in - move.centre;
  const double angle = s * arc_turn_rad(move);
  // The radii may differ by the reader's tolerance: blend them so that both ends are met exactly.
  const double scale = 1 + s * (norm(end_arm) / norm(arm) - 1);
  const double c = std::cos(angle), n = std::sin(angle);
  const Vec2 turned{scale * (arm.x * c - arm.y * n), scale * (arm.x * n + arm.y * c)};
  return unseen(move, move.centre + turned, a.third + s * (b.third - a.third));
}

Vec3 direction_at(const Move& move, double s) {
  Vec3 way = move.to - move.from;
  if (move.kind == MoveKind::arc) {
    const double turn = arc_turn_rad(move);
    const PlaneView a = seen(move, move.from), b = seen(move, move.to);
    const Vec2 arm = a.in - move.centre;
    const double c = std::cos(s * turn), n = std::sin(s * turn);
    const Vec2 turned{arm.x * c - arm.y * n, arm.x * n + arm.y * c};
    const Vec2 in = turn > 0 ? left_of(turned) : -1 * left_of(turned);
    way = unseen(move, in, (b.third - a.third) / std::abs(turn)); // mm per radian
  }
  const double length = norm(way);
  if (stands_still(move) || !(length > 0))
    return {0, 0, 0};
  return (1 / length) * way;
}

double lowest_z_mm(const Move& move) {
  const double ends = std::min(move.from.z, move.to.z);
  if (move.kind != MoveKind::arc || move.plane == ArcPlane::xy)
    return ends;
  const PlaneView a = seen(move, move.from);
  const Vec2 arm = a.in - move.centre;
  const bool z_first = move.plane == ArcPlane::zx;
  const double bottom = z_first ? kPi : -0.5 * kPi, turn = arc_turn_rad(move);
  // Way to go from the start to the circle's lowest place, in the sense of the turn.
  double way = std::remainder(bottom - std::atan2(arm.y, arm.x), kTwoPi);
  if (turn > 0 && way < 0)
    way += kTwoPi;
  if (turn < 0 && way > 0)
    way -= kTwoPi;
  if (std::abs(way) >= std::abs(turn))
    return ends;
  return std::min(ends, point_at(move, way / turn).z);
}

Move shifted(Move move, Vec3 by) {
  move.from = move.from + by;
  move.to = move.to + by;
  if (move.kind == MoveKind::arc)
    move.centre = move.centre + seen(move, by).in;
  return move;
}

Vec2 heading_at(const Move& move, double s) {
  const Vec2 way = xy(direction_at(move, s));
  const double length = norm(way);
  if (length < 1e-12)
    return {0, 0};
  return (1 / length) * way;
}

} // namespace snagmap
