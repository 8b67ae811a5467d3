#include "sim/swept/sweep.hpp"

#include "models/base/constants.hpp"

#include <algorithm>

namespace snagmap {
namespace {

constexpr double kTwoPi = 2 * kPi;

Vec2 on_circle(const SweptArc& arc, double s) {
  const double angle = arc.angle0 + s * arc.turn;
  return {arc.centre.x + arc.radius * std::cos(angle), arc.centre.y + arc.radius * std::sin(angle)};
}

/// Part of a line where c0 + u c1 >= 0.
Chord half_line(double c0, double c1) {
  if (c1 == 0)
    return c0 >= 0 ? Chord{-1e300, 1e300} : Chord{1, 0};
  return c1 > 0 ? Chord{-c0 / c1, 1e300} : Chord{-1e300, -c0 / c1};
}

} // namespace

void Sweeps::add(const Sweep& sweep) {
  const Vec3 from{sweep.a.x, sweep.a.y, sweep.za}, to{sweep.b.x, sweep.b.y, sweep.zb};
  const auto differ = [](const Vec3& p, const Vec3& q) { return p.x != q.x || p.y != q.y || p.z != q.z; };
  std::uint8_t flags = sweep.rapid ? KeptSweep::kRapid : 0;
  if (kept.empty() || differ(kept.back().to, from)) {
    flags |= KeptSweep::kJumps;
    starts.push_back({from, kept.size()});
  }
  kept.push_back({to, sweep.arc, sweep.body, sweep.kind, flags});
}

const Vec3& Sweeps::start_of(std::size_t n) const {
  return std::lower_bound(starts.begin(), starts.end(), n,
                          [](const SweepStart& start, std::size_t sweep) { return start.sweep < sweep; })
      ->from;
}

std::uint32_t Sweeps::move_of(std::size_t n) const {
  if (first.empty())
    return static_cast<std::uint32_t>(n);
  return static_cast<std::uint32_t>(std::upper_bound(first.begin(), first.end(), n) - first.begin()) - 1;
}

PartSwept part_swept(const Sweeps& sweeps, std::uint32_t move, double share) {
  PartSwept swept;
  swept.first = sweeps.count_at(move);
  const std::uint32_t last = sweeps.count_at(move + 1);
  if (swept.first == last)
    throw std::out_of_range("the move under way is past the last move");
  share = std::clamp(share, 0.0, 1.0);
  // Chords of one arc are equal shares of its turn, and of its length.
  const double at = share * (last - swept.first);
  const std::uint32_t whole = std::min(static_cast<std::uint32_t>(at), last - swept.first - 1);
  swept.end = swept.first + whole;
  const double s = std::min(at - whole, 1.0);
  const Sweep sweep = sweeps[swept.end];
  swept.part = sweep;
  swept.part.b = sweep.a + s * (sweep.b - sweep.a);
  swept.part.zb = sweep.z_at(s);
  if (sweep.kind == SweepKind::arc) {
    SweptArc arc = sweeps.arcs[sweep.arc];
    arc.turn *= s;
    if (s > 0) {
      swept.part.b = on_circle(arc, 1);
      swept.part.arc = 0;
      swept.own.arcs.push_back(arc);
      return swept;
    }
  }
  if (sweep.kind != SweepKind::none && swept.part.b.x == sweep.a.x && swept.part.b.y == sweep.a.y)
    swept.part.kind = SweepKind::upright;
  return swept;
}

double arc_chords(const Move& move, bool cylinder, double chord_mm) {
  if (move.kind != MoveKind::arc || (move.plane == ArcPlane::xy && (move.from.z == move.to.z || cylinder)))
    return 0;
  const double radius = norm(move.plane == ArcPlane::xy   ? xy(move.from) - move.centre
                             : move.plane == ArcPlane::zx ? Vec2{move.from.z, move.from.x} - move.centre
                                                          : Vec2{move.from.y, move.from.z} - move.centre);
  const double step = 2 * std::acos(std::max(0.0, 1 - chord_mm / std::max(radius, chord_mm)));
  return std::max(1.0, std::ceil(std::abs(arc_turn_rad(move)) / step));
}

Sweeps sweeps_of(const Path& path, const std::vector<bool>& cylinder, double chord_mm) {
  Sweeps out;
  out.kept.reserve(path.moves.size());
  const auto line = [](Vec3 from, Vec3 to, const Move& move) {
    Sweep sweep;
    sweep.a = xy(from);
    sweep.b = xy(to);
    sweep.za = from.z;
    sweep.zb = to.z;
    sweep.body = static_cast<std::uint16_t>(move.tool);
    sweep.rapid = move.kind == MoveKind::rapid;
    const bool still = sweep.a.x == sweep.b.x && sweep.a.y == sweep.b.y;
    sweep.kind = still ? SweepKind::upright : SweepKind::line;
    return sweep;
  };
  for (std::size_t i = 0; i < path.moves.size(); ++i) {
    const Move& move = path.moves[i];
    const std::size_t before = out.size();
    if (move.kind == MoveKind::rapid || move.kind == MoveKind::line) {
      out.add(line(move.from, move.to, move));
    } else if (move.kind == MoveKind::arc) {
      const double turn = arc_turn_rad(move);
      const double chords = arc_chords(move, cylinder[static_cast<std::size_t>(move.tool)], chord_mm);
      if (chords == 0) {
        Sweep sweep = line(move.from, move.to, move);
        const Vec2 arm = sweep.a - move.centre;
        sweep.kind = SweepKind::arc;
        sweep.arc = static_cast<std::uint32_t>(out.arcs.size());
        out.arcs.push_back(
            {move.centre, 0.5 * (norm(arm) + norm(sweep.b - move.centre)), std::atan2(arm.y, arm.x), turn});
        out.add(sweep);
      } else {
        const int count = static_cast<int>(chords);
        Vec3 from = move.from;
        for (int n = 1; n <= count; ++n) {
          const Vec3 to = point_at(move, static_cast<double>(n) / count);
          out.add(line(from, to, move));
          from = to;
        }
      }
    } else {
      Sweep sweep = line(move.from, move.to, move);
      sweep.kind = SweepKind::none;
      out.add(sweep);
    }
    if (out.first.empty() && out.size() != before + 1)
      for (std::size_t n = 0; n <= i; ++n)
        out.first.push_back(static_cast<std::uint32_t>(n));
    else if (!out.first.empty())
      out.first.push_back(static_cast<std::uint32_t>(before));
  }
  if (!out.first.empty())
    out.first.push_back(static_cast<std::uint32_t>(out.size()));
  return out;
}

ArcBand::ArcBand(const SweptArc& arc, double s0, double s1, double radius)
    : centre_(arc.centre), first_(on_circle(arc, s0)), last_(on_circle(arc, s1)), outer_(arc.radius + radius),
      inner_(arc.radius - radius), radius_(radius), turn_(std::abs(arc.turn) * (s1 - s0)) {
  e0_ = first_ - centre_;
  e1_ = last_ - centre_;
  if (arc.turn < 0)
    std::swap(e0_, e1_);
}

void ArcBand::chords(Vec2 o, Vec2 d, Chords& out) const {
  const Vec2 oc = centre_ - o;
  const double h = cross(d, oc), m = dot(oc, d);
  const double k2 = outer_ * outer_ - h * h;
  if (k2 <= 0)
    return;
  const double k = std::sqrt(k2);
  // The ring's part of the line: one piece, or two around the hole.
  std::array<Chord, 2> ring{Chord{m - k, m + k}, Chord{1, 0}};
  if (inner_ > 0 && inner_ * inner_ > h * h) {
    const double hole = std::sqrt(inner_ * inner_ - h * h);
    ring = {Chord{m - k, m - hole}, Chord{m + hole, m + k}};
  }
  if (turn_ >= kTwoPi) {
    for (const Chord& piece : ring)
      out.add(piece.low, piece.high);
    return;
  }
  // End discs, then the sector between the two rays from the centre.
  for (const Vec2 end : {first_, last_}) {
    const Vec2 oe = end - o;
    const double he = cross(d, oe), ke = radius_ * radius_ - he * he;
    if (ke > 0)
      out.add(dot(oe, d) - std::sqrt(ke), dot(oe, d) + std::sqrt(ke));
  }
  const Vec2 co = o - centre_;
  const Chord after = half_line(cross(e0_, co), cross(e0_, d));
  const Chord before = half_line(cross(co, e1_), cross(d, e1_));
  for (const Chord& piece : ring) {
    if (turn_ <= kPi) {
      out.add(std::max({piece.low, after.low, before.low}), std::min({piece.high, after.high, before.high}));
    } else {
      out.add(std::max(piece.low, after.low), std::min(piece.high, after.high));
      out.add(std::max(piece.low, before.low), std::min(piece.high, before.high));
    }
  }
}

void line_window(const Sweep& move, double radius, Vec2 p, Windows& out) {
  const Vec2 e = move.b - move.a, ap = p - move.a;
  const double l2 = dot(e, e), h = cross(e, ap), k2 = radius * radius * l2 - h * h;
  if (k2 < 0)
    return;
  const double m = dot(e, ap), k = std::sqrt(k2);
  out.add((m - k) / l2, (m + k) / l2);
}

void arc_windows(const SweptArc& arc, double radius, Vec2 p, Windows& out) {
  const Vec2 cp = p - arc.centre;
  const double q = norm(cp), turn = std::abs(arc.turn);
  if (std::abs(q - arc.radius) > radius)
    return;
  // The disc covers p while the angle between the arms is at most `half` (law of cosines).
  const double c = (arc.radius * arc.radius + q * q - radius * radius) / (2 * arc.radius * q);
  double at = (std::atan2(cp.y, cp.x) - arc.angle0) * (arc.turn < 0 ? -1 : 1);
  at -= kTwoPi * std::floor(at / kTwoPi);
  if (!(c > -1)) { // covered all the way; nearest where the arm points at p, or at the end nearer to that
    out.add(0, 1);
    out.at[0].mid = (at > turn && kTwoPi - at < at - turn ? at - kTwoPi : at) / turn;
    return;
  }
  const double half = std::acos(std::min(c, 1.0)), inverse = 1 / turn;
  for (double centre = at - kTwoPi; centre - half <= turn; centre += kTwoPi) {
    if (centre + half >= 0)
      out.add((centre - half) * inverse, (centre + half) * inverse);
  }
}

LowerEnd::LowerEnd(const Sweep& sweep, const Sweeps& sweeps, double radius) : radius_(radius) {
  // Deeper in the disc than any rounding of a window's end.
  constexpr double kInside_mm = 1e-6;
  const double s = sweep.zb < sweep.za ? 1 : 0, inside = radius - kInside_mm;
  z_ = sweep.z_at(s);
  covered2_ = inside > 0 ? inside * inside : 0;
  at_ = s == 1 ? sweep.b : sweep.a;
  one_window_ = 1;
  if (sweep.kind != SweepKind::arc)
    return;
  const SweptArc& arc = sweeps.arcs[sweep.arc];
  at_ = on_circle(arc, s);
  centre_ = arc.centre;
  ring_ = arc.radius;
  // Windows lie a turn apart: two fit on the arc when each is wider than a turn less the arc.
  constexpr double kRounding = 1e-9;
  if (std::abs(arc.turn) < kTwoPi)
    one_window_ = kRounding - std::cos(0.5 * arc.turn);
}

bool LowerEnd::covers(Vec2 p) const {
  const Vec2 off = p - at_;
  if (!(dot(off, off) < covered2_))
    return false;
  if (ring_ == 0)
    return true;
  const Vec2 cp = p - centre_;
  const double q2 = dot(cp, cp);
  return ring_ * ring_ + q2 - radius_ * radius_ > one_window_ * 2 * ring_ * std::sqrt(q2);
}

Box2 plan_box(const Sweep& move, const Sweeps& sweeps) {
  Box2 box{{std::min(move.a.x, move.b.x), std::min(move.a.y, move.b.y)},
           {std::max(move.a.x, move.b.x), std::max(move.a.y, move.b.y)}};
  if (move.kind != SweepKind::arc)
    return box;
  const SweptArc& arc = sweeps.arcs[move.arc];
  if (std::abs(arc.turn) >= kTwoPi)
    return {arc.centre - Vec2{arc.radius, arc.radius}, arc.centre + Vec2{arc.radius, arc.radius}};
  const double first = std::min(arc.angle0, arc.angle0 + arc.turn);
  const double last = std::max(arc.angle0, arc.angle0 + arc.turn);
  // Every quarter direction the arc passes pushes one side of the box out.
  const double quarter = kPi / 2;
  for (double n = std::ceil(first / quarter); n * quarter <= last; ++n) {
    const Vec2 p{arc.centre.x + arc.radius * std::cos(n * quarter),
                 arc.centre.y + arc.radius * std::sin(n * quarter)};
    box.low = {std::min(box.low.x, p.x), std::min(box.low.y, p.y)};
    box.high = {std::max(box.high.x, p.x), std::max(box.high.y, p.y)};
  }
  return box;
}

} // namespace snagmap
