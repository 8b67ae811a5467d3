#include "sim/control/compensation.hpp"

#include "sim/language/block.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>

namespace snagmap {
namespace {

constexpr double kPi = 3.14159265358979323846;
constexpr double kShallow_rad = 0.05;  // LinuxCNC, interp_internal.hh, TOLERANCE_CONCAVE_CORNER
constexpr double kStraight_rad = 1e-3; // arcs that meet nearer than this meet smoothly
constexpr double kNear_mm = 1e-6;

bool stands(MoveKind kind) {
  return kind == MoveKind::dwell || kind == MoveKind::stop || kind == MoveKind::tool_change;
}
Vec2 unit(Vec2 v) {
  return (1 / norm(v)) * v;
}
/// Heading at an arc's place, by its sense.
Vec2 round_heading(Vec2 place, const Move& arc) {
  const Vec2 arm = place - arc.centre;
  return unit(arc.turn_rad > 0 ? left_of(arm) : -1.0 * left_of(arm));
}
Vec3 with_xy(Vec3 p, Vec2 at) {
  return {at.x, at.y, p.z};
}
double angle_of(Vec2 v) {
  return std::atan2(v.y, v.x);
}

/// Where two ways cross: up to two places.
int crossings(const Move& a, Vec2 a_heading, const Move& b, Vec2 b_heading, Vec2 (&at)[2]) {
  const auto line_circle = [&](Vec2 p, Vec2 d, Vec2 centre, double r) {
    const Vec2 off = p - centre;
    const double half = dot(off, d), under = half * half - (dot(off, off) - r * r);
    if (under < 0)
      return 0;
    const double root = std::sqrt(under);
    at[0] = p + (-half - root) * d;
    at[1] = p + (-half + root) * d;
    return 2;
  };
  const bool a_arc = a.kind == MoveKind::arc, b_arc = b.kind == MoveKind::arc;
  const auto radius = [](const Move& arc) { return norm(xy(arc.from) - arc.centre); };
  if (!a_arc && !b_arc) {
    const double across = cross(a_heading, b_heading);
    if (across == 0)
      return 0;
    at[0] = xy(a.to) + (cross(xy(b.from) - xy(a.to), b_heading) / across) * a_heading;
    return 1;
  }
  if (!a_arc)
    return line_circle(xy(a.to), a_heading, b.centre, radius(b));
  if (!b_arc)
    return line_circle(xy(b.from), b_heading, a.centre, radius(a));
  const Vec2 between = b.centre - a.centre;
  const double d = norm(between), ra = radius(a), rb = radius(b);
  if (d == 0)
    return 0;
  const double along = (d * d + ra * ra - rb * rb) / (2 * d), under = ra * ra - along * along;
  if (under < 0)
    return 0;
  const Vec2 u = (1 / d) * between;
  at[0] = a.centre + along * u + std::sqrt(under) * left_of(u);
  at[1] = a.centre + along * u - std::sqrt(under) * left_of(u);
  return 2;
}

/// Whether the place, on the way's line or circle, lies between its ends.
bool within(const Move& way, Vec2 place) {
  if (way.kind != MoveKind::arc) {
    const Vec2 d = xy(way.to) - xy(way.from);
    const double s = dot(place - xy(way.from), d), whole = dot(d, d);
    return s >= -kNear_mm * norm(d) && s <= whole + kNear_mm * norm(d);
  }
  const double full = std::abs(static_cast<double>(way.turn_rad));
  double turned = angle_of(place - way.centre) - angle_of(xy(way.from) - way.centre);
  if (way.turn_rad < 0)
    turned = -turned;
  turned -= 2 * kPi * std::floor(turned / (2 * kPi));
  return turned <= full + 1e-9 || turned >= 2 * kPi - 1e-9;
}

/// The turn from start to end about the centre in the arc's own sense.
float turn_between(const Move& arc) {
  double turn = angle_of(xy(arc.to) - arc.centre) - angle_of(xy(arc.from) - arc.centre);
  const double sign = arc.turn_rad > 0 ? 1 : -1;
  turn *= sign;
  turn -= 2 * kPi * std::floor(turn / (2 * kPi));
  if (turn < 1e-9 && std::abs(static_cast<double>(arc.turn_rad)) > kPi)
    turn = 2 * kPi;
  return static_cast<float>(sign * turn);
}

} // namespace

void Compensation::start(int side, double radius_mm, Vec3 tip) {
  on_ = true;
  entered_ = false;
  side_ = side;
  radius_mm_ = radius_mm;
  tip_ = tip;
  held_.reset();
  after_.clear();
}

void Compensation::forget() {
  held_.reset();
  after_.clear();
}

void Compensation::put(Move move, std::vector<Move>& out) {
  move.from = tip_;
  if (stands(move.kind))
    move.to = tip_;
  tip_ = move.to;
  if (stands(move.kind) || norm(move.to - move.from) > 0 || move.kind == MoveKind::arc)
    out.push_back(move);
}

void Compensation::put_out(std::vector<Move>& out) {
  if (!held_)
    return;
  const Vec2 end = xy(held_->move.to);
  put(held_->move, out);
  for (Move& move : after_) {
    move.to = with_xy(move.to, end);
    put(move, out);
  }
  held_.reset();
  after_.clear();
}

/// The piece beside a programmed one.
Compensation::Way Compensation::beside(const Move& programmed, int column) const {
  Way way{programmed, {}, {}, false};
  const Vec2 from = xy(programmed.from), to = xy(programmed.to);
  if (programmed.kind != MoveKind::arc) {
    const Vec2 d = unit(to - from);
    const Vec2 off = side_ * radius_mm_ * left_of(d);
    way.first_heading = way.last_heading = d;
    way.move.from = with_xy(programmed.from, from + off);
    way.move.to = with_xy(programmed.to, to + off);
    return way;
  }
  const double r = norm(from - programmed.centre), inward = programmed.turn_rad > 0 ? side_ : -side_;
  const double own = r - inward * radius_mm_;
  if (own <= kNear_mm)
    throw Refusal{
        column,
        fmt::format("arc of radius {:.6g} mm under {}: the cutter of radius {:.6g} mm does not fit into it",
                    r, side_ > 0 ? "G41" : "G42", radius_mm_),
        "use a smaller cutter, or a larger radius"};
  way.first_heading = round_heading(from, programmed);
  way.last_heading = round_heading(to, programmed);
  way.move.from = with_xy(programmed.from, programmed.centre + (own / r) * (from - programmed.centre));
  way.move.to = with_xy(programmed.to,
                        programmed.centre + (own / norm(to - programmed.centre)) * (to - programmed.centre));
  return way;
}

void Compensation::enter(const Move& programmed, int column) {
  const char* name = side_ > 0 ? "G41" : "G42";
  if (programmed.kind == MoveKind::arc)
    throw Refusal{column, fmt::format("{} begins on an arc: the entry is a straight move", name),
                  "write a G1 longer than the cutter's radius before it"};
  const double length = norm(xy(programmed.to) - xy(programmed.from));
  if (length <= radius_mm_)
    throw Refusal{
        column,
        fmt::format("{}: the entry move is {:.6g} mm long in X and Y, and the cutter's radius is {:.6g} mm",
                    name, length, radius_mm_),
        "enter by a straight move longer than the radius"};
  held_ = beside(programmed, column);
  held_->move.from = tip_;
  held_->entry = true;
  entered_ = true;
}

/// Puts out what is held, and an arc about the corner to where the next piece begins.
void Compensation::round_the_corner(const Way& next, Vec2 corner, double turn_rad, std::vector<Move>& out) {
  const float feed = next.move.kind != MoveKind::rapid ? next.move.feed_mm_min : held_->move.feed_mm_min;
  put_out(out);
  Move round = next.move;
  round.kind = feed > 0 ? MoveKind::arc : MoveKind::rapid; // between two rapids nothing is cut
  round.plane = ArcPlane::xy;
  round.full_turns = 0;
  round.from = tip_;
  round.to = with_xy(tip_, xy(next.move.from));
  round.centre = corner;
  round.turn_rad = static_cast<float>(-side_ * turn_rad);
  round.feed_mm_min = feed;
  put(round, out);
}

/// Joins what is held with the next piece, and puts it out.
void Compensation::join(Way& next, Vec2 corner, int column, std::vector<Move>& out) {
  Move& held = held_->move;
  const Vec2 in = held_->last_heading, on = next.first_heading;
  const double bend =
      side_ * std::atan2(cross(in, on), dot(in, on)); // > 0: towards the cutter, an inside corner
  const bool arcs = held.kind == MoveKind::arc || next.move.kind == MoveKind::arc;
  const bool smooth = std::abs(bend) < (arcs ? kStraight_rad : kShallow_rad);
  if (smooth) {
    if (next.move.kind != MoveKind::arc)
      next.move.from = with_xy(next.move.from, xy(held.to));
    else
      held.to = with_xy(held.to, xy(next.move.from));
    return put_out(out);
  }
  // Straight back between straight moves is an outside end; arcs that meet so may also cross.
  const bool back = kPi - std::abs(bend) < 1e-9;
  Vec2 at[2];
  int best = -1;
  if (bend > 0 || (back && arcs)) {
    Move before = held;
    if (held_->entry) // its own line beside the contour, not the way to it
      before.from = with_xy(held.to, xy(held.to) - 1e6 * in);
    const int count = crossings(held, in, next.move, on, at);
    for (int i = 0; i < count; ++i)
      if (within(before, at[i]) && within(next.move, at[i]) &&
          (best < 0 || norm(at[i] - corner) < norm(at[best] - corner)))
        best = i;
  }
  if (bend < 0 || back) {
    if (best < 0)
      return round_the_corner(next, corner, back ? kPi : std::abs(bend), out);
  }
  if (best < 0)
    throw Refusal{
        column,
        fmt::format(
            "inside corner under {} at X{:.6g} Y{:.6g} mm: a cutter of radius {:.6g} mm cannot reach it "
            "without cutting into the contour",
            side_ > 0 ? "G41" : "G42", corner.x, corner.y, radius_mm_),
        "use a smaller cutter, or longer moves at this corner"};
  held.to = with_xy(held.to, at[best]);
  if (held.kind == MoveKind::arc)
    held.turn_rad = turn_between(held);
  next.move.from = with_xy(next.move.from, at[best]);
  if (next.move.kind == MoveKind::arc)
    next.move.turn_rad = turn_between(next.move);
  put_out(out);
}

void Compensation::add(const Move& programmed, int column, std::vector<Move>& out) {
  if (radius_mm_ == 0)
    return put(programmed, out);
  const bool upright = norm(xy(programmed.to) - xy(programmed.from)) == 0 && programmed.kind != MoveKind::arc;
  if (stands(programmed.kind) || (upright && entered_)) {
    if (held_)
      after_.push_back(programmed);
    else
      put(programmed, out);
    return;
  }
  if (programmed.kind == MoveKind::arc && programmed.plane != ArcPlane::xy)
    throw Refusal{column, "an arc outside plane G17 under cutter compensation",
                  "end the compensation first (G40)"};
  if (!entered_)
    return enter(programmed, column);
  Way next = beside(programmed, column);
  if (held_)
    join(next, xy(programmed.from), column, out);
  held_ = next;
}

void Compensation::end(std::vector<Move>& out) {
  put_out(out);
  on_ = false;
}

} // namespace snagmap
