#include "sim/sampling.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

bool cuts(const Move& move) { return move.kind == MoveKind::line || move.kind == MoveKind::arc; }

constexpr double kSameLevel_mm = 1e-3;  // one count of a program's third decimal

/// Distinct levels, highest first.
std::vector<double> distinct_levels(const Path& path, const std::vector<double>& level, double top_mm) {
  std::vector<double> all;
  for (std::size_t i = 0; i < path.moves.size(); ++i)
    if (cuts(path.moves[i]) && level[i] < top_mm - kSameLevel_mm) all.push_back(level[i]);
  std::sort(all.begin(), all.end(), std::greater<>());
  all.erase(std::unique(all.begin(), all.end(), [](double a, double b) { return a - b < kSameLevel_mm; }), all.end());
  return all;
}

} // namespace

std::vector<double> pass_levels_mm(const Path& path) {
  std::vector<double> level(path.moves.size());
  double below = 0;
  bool leads_down = false;  // is the following cutting move at `below` reached by going down from here?
  for (std::size_t k = path.moves.size(); k-- > 0;) {
    const Move& move = path.moves[k];
    if (!cuts(move)) {
      leads_down = false;
      level[k] = move.to.z;
      continue;
    }
    const bool descends = move.to.z < move.from.z - kSameLevel_mm;
    level[k] = descends && leads_down ? std::min(below, move.to.z) : std::min(move.from.z, move.to.z);
    below = level[k];
    leads_down = true;
  }
  return level;
}

std::vector<Sample> sample_path(const Path& path, double spacing_mm, double top_mm) {
  const std::vector<double> level = pass_levels_mm(path);
  const std::vector<double> levels = distinct_levels(path, level, top_mm);
  auto step_to = [&](double z) {
    auto at = std::lower_bound(levels.begin(), levels.end(), z + kSameLevel_mm, std::greater<>());
    return (at == levels.begin() ? top_mm : *(at - 1)) - z;
  };

  std::vector<Sample> samples;
  double since = 0.5 * spacing_mm;  // path walked since the last sample
  for (std::size_t i = 0; i < path.moves.size(); ++i) {
    const Move& move = path.moves[i];
    if (!cuts(move) || std::min(move.from.z, move.to.z) >= top_mm) continue;
    const double length = length_mm(move);
    if (length <= 0) continue;
    for (double at = spacing_mm - since; at < length; at += spacing_mm) {
      const double share = std::max(0.0, at) / length;
      const Vec3 tip = point_at(move, share);
      if (tip.z < top_mm)
        samples.push_back({static_cast<std::uint32_t>(i), share, tip, heading_at(move, share), level[i], step_to(level[i])});
    }
    since = std::fmod(since + length, spacing_mm);
  }
  return samples;
}

} // namespace snagmap
