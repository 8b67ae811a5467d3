#include "sim/swept/chord_runs.hpp"

#include "models/base/constants.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

// The way of a run is shorter than its arc by angle^2 / 24, 0.04 %, and strays from it by less than this.
constexpr double kRun_rad = 0.1, kRun_mm = 0.005;

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

} // namespace

ChordRuns::ChordRuns(const Sweeps& sweeps) : sweeps_(sweeps) {
  if (sweeps.first.empty())
    return;
  first_.resize(sweeps.size());
  for (std::size_t m = 0; m + 1 < sweeps.first.size(); ++m) {
    const std::uint32_t begin = sweeps.first[m], end = sweeps.first[m + 1];
    const std::uint32_t run = end - begin > 1 ? run_length(sweeps[begin], sweeps[begin + 1]) : 1;
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
  sweep.kind = sweep.a.x == sweep.b.x && sweep.a.y == sweep.b.y ? SweepKind::upright : SweepKind::line;
  return sweep;
}

} // namespace snagmap
