#include "sim/watch/sampling.hpp"

#include "sim/path/layers.hpp"
#include "sim/path/moves.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

/// Depth of the pass of every cutting move: from the level cut before it in the same pocket. Going up begins
/// a pocket anew, from the sheet's top (a shelf cut after the deep part counts as deeper than it is).
std::vector<double> pass_steps_mm(const Path& path, const std::vector<double>& level, double top_mm) {
  std::vector<double> step(path.moves.size());
  double above = top_mm, here = top_mm;
  for (std::size_t i = 0; i < path.moves.size(); ++i) {
    if (!is_feed(path.moves[i]) || level[i] >= top_mm - kSameLevel_mm)
      continue;
    if (level[i] < here - kSameLevel_mm)
      above = here;
    if (level[i] > here + kSameLevel_mm)
      above = top_mm;
    here = level[i];
    step[i] = above - here;
  }
  return step;
}

} // namespace

std::vector<Sample> sample_path(const Path& path, double spacing_mm, double top_mm) {
  const std::vector<double> level = pass_levels_mm(path);
  const std::vector<double> step = pass_steps_mm(path, level, top_mm);

  std::vector<Sample> samples;
  double next = 0.5 * spacing_mm; // cutting path still to go to the next sample
  for (std::size_t i = 0; i < path.moves.size(); ++i) {
    const Move& move = path.moves[i];
    if (!is_feed(move) || lowest_z_mm(move) >= top_mm)
      continue;
    const double length = length_mm(move);
    if (length <= 0)
      continue;
    double at = next;
    for (; at < length; at += spacing_mm) {
      const double share = at / length;
      const Vec3 tip = point_at(move, share);
      if (tip.z < top_mm)
        samples.push_back(
            {static_cast<std::uint32_t>(i), share, tip, heading_at(move, share), level[i], step[i]});
    }
    next = at - length; // 0 when the sample falls on the joint: it is then taken at the next move's start
  }
  return samples;
}

} // namespace snagmap
