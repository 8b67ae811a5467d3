// A move as a swept disc: plan of the tip's way, chords of a straight line through it, windows over a column.
#pragma once

#include "models/base/vec.hpp"
#include "sim/path/path.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <stdexcept>
#include <vector>

namespace snagmap {

/// Rounding down and up to whole numbers within +-1e9 without a library call (SSE2 has no instruction for
/// it).
inline int floor_of(double v) {
  v = v < -1e9 ? -1e9 : v > 1e9 ? 1e9 : v;
  const int n = static_cast<int>(v);
  return n - (n > v);
}
inline int ceil_of(double v) {
  return -floor_of(-v);
}

enum class SweepKind : std::uint8_t { none, upright, line, arc };

/// A move, or a chord of one, reduced to what the cut needs. Heights go linearly with the share s (0..1) of
/// the move.
struct Sweep {
  Vec2 a, b;              ///< plan of the tip at the start and the end, mm
  double za = 0, zb = 0;  ///< height of the tip there, mm
  std::uint32_t arc = 0;  ///< index into the arcs, for arcs
  std::uint16_t body = 0; ///< index into the bodies
  SweepKind kind = SweepKind::none;
  bool rapid = false;
  double z_at(double s) const { return za + s * (zb - za); }
};

/// Plan of an arc. Radii of the two ends may differ by the reader's tolerance: the mean is used.
struct SweptArc {
  Vec2 centre;
  double radius = 0, angle0 = 0, turn = 0; ///< mm, rad; turn signed, whole turns included
};

/// A sweep as it is kept: it begins where the one before it ends, unless it jumps.
struct KeptSweep {
  Vec3 to; ///< tip at the end, mm
  std::uint32_t arc = 0;
  std::uint16_t body = 0;
  SweepKind kind = SweepKind::none;
  std::uint8_t flags = 0;
  static constexpr std::uint8_t kRapid = 1, kJumps = 2;
};
static_assert(sizeof(KeptSweep) == 32, "half of a sweep: a long program has one for each move");

/// Where a sweep that jumps begins.
struct SweepStart {
  Vec3 from; ///< mm
  std::uint64_t sweep = 0;
};

struct Sweeps {
  std::vector<KeptSweep> kept;    ///< in order of the moves
  std::vector<SweepStart> starts; ///< of those that jump, in order; the first sweep always does
  std::vector<SweptArc> arcs;
  std::vector<std::uint32_t> first; ///< first sweep of each move, one more at the end; empty: one each

  std::size_t size() const { return kept.size(); }
  Sweep operator[](std::size_t n) const {
    const KeptSweep& k = kept[n];
    const Vec3& from = k.flags & KeptSweep::kJumps ? start_of(n) : kept[n - 1].to;
    return {xy(from), xy(k.to), from.z, k.to.z, k.arc, k.body, k.kind, (k.flags & KeptSweep::kRapid) != 0};
  }
  void add(const Sweep& sweep);
  /// Number of sweeps done at a moment.
  std::uint32_t count_at(std::uint32_t t) const {
    const std::size_t moves = first.empty() ? size() : first.size() - 1;
    const std::size_t n = t < moves ? t : moves;
    return first.empty() ? static_cast<std::uint32_t>(n) : first[n];
  }
  /// The program's move that sweep n belongs to.
  std::uint32_t move_of(std::size_t n) const;

private:
  const Vec3& start_of(std::size_t n) const;
};

/// What the first `share` of a move sweeps: its whole sweeps [first, end) and part of the next one.
struct PartSwept {
  std::uint32_t first = 0, end = 0;
  Sweep part; ///< kind none where nothing is added
  Sweeps own; ///< holds the arc of the part
};
/// `share` is held to 0..1. At a share of 0 the disc stands at the move's start. Throws std::out_of_range for
/// a move that is none.
PartSwept part_swept(const Sweeps& sweeps, std::uint32_t move, double share);

/// Chords that an arc becomes where it cannot be kept whole; a tool of which `cylinder` is true keeps its
/// helices.
double arc_chords(const Move& move, bool cylinder, double chord_mm);
constexpr double kMostChords = 100000; ///< of one arc: the record refuses a path with longer ones

/// Sweeps of a path. Straight moves, flat arcs of every cutter and helices of cylinders are kept whole and
/// swept exactly. Arcs outside the xy plane, and helices of cutters for which `cylinder` is false, become
/// chords that stay within `chord_mm` of the arc.
Sweeps sweeps_of(const Path& path, const std::vector<bool>& cylinder, double chord_mm);

/// A piece low..high along a straight line, mm from the line's origin.
struct Chord {
  double low, high;
};
/// A few chords, in no order and possibly overlapping.
struct Chords {
  static constexpr int kMost =
      40; ///< an arc's band leaves 6, a hollow profile at most every other of 65 places
  std::array<Chord, kMost> at;
  int count = 0;
  void add(double low, double high) {
    if (!(high > low))
      return;
    if (count == kMost)
      throw std::length_error("more chords than a swept body can have");
    at[static_cast<std::size_t>(count++)] = {low, high};
  }
};

/// A disc of `radius` swept along the straight way from a to b.
class Capsule {
public:
  Capsule(Vec2 a, Vec2 b, double radius) : a_(a), b_(b), e_(b - a), r_(radius), r2_(radius * radius) {
    l2_ = dot(e_, e_);
    rl_ = radius * std::sqrt(l2_);
  }
  /// Chord of the line o + u d (d unit). The capsule is convex, so there is one or none.
  inline bool chord(Vec2 o, Vec2 d, Chord& out) const {
    const Vec2 oa = a_ - o, ob = b_ - o;
    const double ha = cross(d, oa), hb = cross(d, ob);
    if ((ha > r_ && hb > r_) || (ha < -r_ && hb < -r_))
      return false;
    double low = 1e300, high = -1e300;
    const double ka = r2_ - ha * ha, kb = r2_ - hb * hb;
    if (ka >= 0) {
      const double m = dot(oa, d), k = std::sqrt(ka);
      low = m - k;
      high = m + k;
    }
    if (kb >= 0) {
      const double m = dot(ob, d), k = std::sqrt(kb);
      low = std::min(low, m - k);
      high = std::max(high, m + k);
    }
    const double cd = cross(e_, d);
    if (cd != 0 && l2_ > 0) {
      const double c0 = -cross(e_, oa), d0 = -dot(e_, oa), dd = dot(e_, d), inverse = 1 / cd;
      for (const double side : {rl_, -rl_}) {
        const double u = (side - c0) * inverse, along = d0 + u * dd;
        if (along >= 0 && along <= l2_) {
          low = std::min(low, u);
          high = std::max(high, u);
        }
      }
    }
    if (!(high > low))
      return false;
    out = {low, high};
    return true;
  }

private:
  Vec2 a_, b_, e_;
  double r_, r2_, l2_, rl_;
};

/// A disc of `radius` swept over the shares s0..s1 of an arc.
class ArcBand {
public:
  ArcBand(const SweptArc& arc, double s0, double s1, double radius);
  /// Chords of the line o + u d (d unit).
  void chords(Vec2 o, Vec2 d, Chords& out) const;

private:
  Vec2 centre_, first_, last_; // of the ring, and the disc's first and last place
  Vec2 e0_, e1_;               // arms to them, anticlockwise
  double outer_, inner_, radius_, turn_;
};

/// Shares s of a move during which the disc of `radius` covers the point p: at most `Windows::kMost`.
struct Window {
  double s0, s1;
  double mid; ///< where the way, prolonged, comes nearest to the point
};
struct Windows {
  static constexpr int kMost = 260; ///< a helix of up to 256 turns on one line passes a column once a turn
  std::array<Window, kMost> at;
  int count = 0;
  void add(double s0, double s1) {
    const double mid = 0.5 * (s0 + s1);
    s0 = s0 < 0 ? 0 : s0;
    s1 = s1 > 1 ? 1 : s1;
    if (!(s1 >= s0))
      return;
    if (count == kMost)
      throw std::length_error("more windows than a helix has turns");
    at[static_cast<std::size_t>(count++)] = {s0, s1, mid};
  }
};
void line_window(const Sweep& move, double radius, Vec2 p, Windows& out);
void arc_windows(const SweptArc& arc, double radius, Vec2 p, Windows& out);

/// The lower end of a sweep, for the columns the disc stands on when it gets there: most of a short ramp's.
class LowerEnd {
public:
  LowerEnd(const Sweep& sweep, const Sweeps& sweeps, double radius);
  /// Height of the tip there, as every window that reaches this end has it.
  double z() const { return z_; }
  /// True: p has one window, and it reaches this end. False says nothing: the windows have to be found.
  bool covers(Vec2 p) const;

private:
  Vec2 at_, centre_;
  double z_, covered2_, radius_, ring_ = 0;
  double one_window_; // an arc's cosine of half the window, above which two windows do not fit on the arc
};

/// Smallest box around the plan of the tip's way.
struct Box2 {
  Vec2 low, high;
};
Box2 plan_box(const Sweep& move, const Sweeps& sweeps);

} // namespace snagmap
