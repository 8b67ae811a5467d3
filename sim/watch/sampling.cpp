#include "sim/watch/sampling.hpp"

#include "models/finite.hpp"
#include "sim/path/layers.hpp"
#include "sim/path/moves.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

/// How far p lies beside the box in plan; 0 over or under it.
double beside_mm(const Box3& box, Vec3 p) {
  return norm(Vec2{std::max({box.low.x - p.x, p.x - box.high.x, 0.0}),
                   std::max({box.low.y - p.y, p.y - box.high.y, 0.0})});
}

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
  constexpr double kFar_mm = 1e300;
  return sample_path(path, spacing_mm, Box3{{-kFar_mm, -kFar_mm, -kFar_mm}, {kFar_mm, kFar_mm, top_mm}}, 0);
}

std::vector<Sample> sample_path(const Path& path, double spacing_mm, const Box3& sheet, double reach_mm) {
  const double top_mm = sheet.high.z;
  require_finite("the spacing of samples, the sheet's top and the reach", spacing_mm, top_mm, reach_mm);
  if (!(spacing_mm > 0))
    throw std::invalid_argument("the spacing of samples must be positive");
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
      const double beside = beside_mm(sheet, tip) - reach_mm;
      if (beside > 0) // no way leads back to the sheet sooner
        at += spacing_mm * std::floor(beside / spacing_mm);
      else if (tip.z < top_mm)
        samples.push_back(
            {static_cast<std::uint32_t>(i), share, tip, heading_at(move, share), level[i], step[i]});
    }
    next = std::fmod(
        at - length,
        spacing_mm); // 0 when the sample falls on the joint: it is then taken at the next move's start
  }
  return samples;
}

} // namespace snagmap
