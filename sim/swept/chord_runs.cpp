#include "sim/swept/chord_runs.hpp"

#include "models/base/constants.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

namespace snagmap {
namespace {

// The way of a run is shorter than its arc by angle^2 / 24, 0.04 %, and strays from it by less than this.
constexpr double kRun_rad = 0.1, kRun_mm = 0.005;
constexpr double kMostTurns = 250; // a place has a window for each (Windows::kMost)
constexpr double kOnHelix_mm = 1e-6;

Vec3 way(const Sweep& s) {
  return {s.b.x - s.a.x, s.b.y - s.a.y, s.zb - s.za};
}

/// How many of an arc's equal chords make one run, from the bend between its first two.
std::uint32_t run_length(const Sweep& one, const Sweep& two) {
  const Vec3 a = way(one), b = way(two);
  const double length = norm(a);
  if (!(length > 0 && norm(b) > 0))
    return 1;
  const double bend = std::acos(std::clamp(dot(a, b) / (length * norm(b)), -1.0, 1.0));
  const double stray = 0.5 * length * std::tan(bend / 4); // of one chord
  if (!(bend > 0))
    return 1;
  const double most = std::min(kRun_rad / bend, std::sqrt(kRun_mm / std::max(stray, 1e-9)));
  return static_cast<std::uint32_t>(std::clamp(most, 1.0, 1000.0));
}

/// The arc whose equal chords these are, when it turns about an upright axis.
std::optional<SweptArc> helix_of(const Sweeps& sweeps, std::uint32_t begin, std::uint32_t end) {
  const Sweep one = sweeps[begin], two = sweeps[begin + 1];
  const Vec2 a = one.b - one.a, b = two.b - two.a;
  const double bend = std::atan2(cross(a, b), dot(a, b)), turn = bend * (end - begin);
  if (!(std::abs(bend) > 0) || std::abs(turn) > kMostTurns * 2 * kPi)
    return {};
  // The centre stands at half a chord from its middle, to the side it bends to.
  SweptArc arc;
  arc.centre = one.a + 0.5 * a + 0.5 / std::tan(0.5 * bend) * left_of(a);
  const Vec2 arm = one.a - arc.centre;
  arc.radius = norm(arm);
  arc.angle0 = std::atan2(arm.y, arm.x);
  arc.turn = turn;
  // An arc in an upright plane, or one whose ends lie at two radii, goes elsewhere.
  for (const std::uint32_t n : {begin + (end - begin) / 3, begin + (end - begin) * 2 / 3, end - 1})
    if (const double angle = arc.angle0 + bend * (n + 1 - begin);
        norm(sweeps[n].b - arc.centre - arc.radius * Vec2{std::cos(angle), std::sin(angle)}) > kOnHelix_mm)
      return {};
  return arc;
}

} // namespace

ChordRuns::ChordRuns(const Sweeps& sweeps) : sweeps_(sweeps) {
  arcs_.arcs = sweeps.arcs;
  if (sweeps.first.empty())
    return;
  first_.resize(sweeps.size());
  for (std::size_t m = 0; m + 1 < sweeps.first.size(); ++m) {
    const std::uint32_t begin = sweeps.first[m], end = sweeps.first[m + 1];
    std::uint32_t run = 1;
    if (end - begin > 1) {
      const std::optional<SweptArc> helix = helix_of(sweeps, begin, end);
      run = helix ? end - begin : run_length(sweeps[begin], sweeps[begin + 1]);
      if (helix) {
        helices_.push_back({begin, static_cast<std::uint32_t>(arcs_.arcs.size())});
        arcs_.arcs.push_back(*helix);
      }
    }
    for (std::uint32_t n = begin; n < end; ++n)
      first_[n] = n - (n - begin) % run;
  }
}

std::uint32_t ChordRuns::end(std::uint32_t n) const {
  if (first_.empty())
    return n + 1;
  const std::uint32_t begin = first_[n];
  std::uint32_t last = n + 1;
  while (last < first_.size() && first_[last] == begin)
    ++last;
  return last;
}

Sweep ChordRuns::joined(std::uint32_t first) const {
  Sweep sweep = sweeps_[first];
  const std::uint32_t last = end(first) - 1;
  if (last == first)
    return sweep;
  const Sweep other = sweeps_[last];
  sweep.b = other.b, sweep.zb = other.zb;
  const auto helix = std::lower_bound(helices_.begin(), helices_.end(), first,
                                      [](const Helix& one, std::uint32_t n) { return one.begin < n; });
  if (helix != helices_.end() && helix->begin == first) {
    sweep.kind = SweepKind::arc, sweep.arc = helix->arc;
    return sweep;
  }
  sweep.kind = sweep.a.x == sweep.b.x && sweep.a.y == sweep.b.y ? SweepKind::upright : SweepKind::line;
  return sweep;
}

} // namespace snagmap
