#include "sim/path/layers.hpp"

#include "sim/path/writer.hpp"

#include <algorithm>
#include <cmath>
#include <set>
#include <utility>

namespace snagmap {
namespace {

constexpr double kTwoPi = 6.283185307179586476925286766559;
constexpr int kBoxPoints = 16; // of a move, for the layer's box in plan

} // namespace

bool on_level(const Move& move, double level_mm) {
  const auto at_it = [&](double z) { return std::abs(z - level_mm) < kSamePlace_mm; };
  return at_it(move.from.z) && at_it(move.to.z) && (move.kind != MoveKind::arc || move.plane == ArcPlane::xy);
}

namespace {

/// Which feed moves belong to a way that keeps its height for a millimetre or more: a ramp of however short
/// pieces does not.
std::vector<bool> level_stretches(const Path& path) {
  constexpr double kLeastStretch_mm = 1;
  std::vector<bool> is_level(path.moves.size());
  for (std::size_t first = 0; first < path.moves.size();) {
    std::size_t end = first;
    double length = 0, low = 1e300, high = -1e300;
    for (; end < path.moves.size() && is_feed(path.moves[end]); ++end) {
      const Move& move = path.moves[end];
      const double lowest = std::min(low, lowest_z_mm(move)),
                   highest = std::max({high, move.from.z, move.to.z});
      if (highest - lowest > kSameLevel_mm)
        break;
      low = lowest, high = highest;
      length += length_mm(move);
    }
    for (std::size_t k = first; k < end; ++k)
      is_level[k] = length >= kLeastStretch_mm;
    first = std::max(end, first + 1);
  }
  return is_level;
}

} // namespace

std::vector<double> pass_levels_mm(const Path& path) {
  const std::vector<bool> is_level = level_stretches(path);
  std::vector<double> level(path.moves.size());
  std::vector<bool> rises(path.moves.size());
  double below = 0;
  bool leads_down = false; // is the following move at `below` reached by going down from here?
  for (std::size_t k = path.moves.size(); k-- > 0;) {
    const Move& move = path.moves[k];
    const bool feeds = is_feed(move);
    if (!feeds && move.kind != MoveKind::rapid) {
      leads_down = false;
      level[k] = move.to.z;
      continue;
    }
    rises[k] = !is_level[k] && move.to.z > move.from.z;
    const bool descends = !is_level[k] && move.to.z <= move.from.z;
    level[k] = descends && leads_down ? std::min(below, lowest_z_mm(move)) : lowest_z_mm(move);
    below = level[k];
    // A rapid goes down to the feed that follows; a feed before a rapid has come to its own end.
    leads_down = feeds || descends;
    if (k > 0 && !feeds && is_feed(path.moves[k - 1]))
      leads_down = false;
  }
  for (std::size_t k = 1; k < path.moves.size(); ++k) // a way up belongs to the pass it leaves
    if (rises[k] && is_feed(path.moves[k]) == is_feed(path.moves[k - 1]) &&
        path.moves[k].to.z > level[k - 1] && (is_feed(path.moves[k]) || rises[k - 1]))
      level[k] = level[k - 1];
  return level;
}

Move part_of(const Move& move, double from, double to) {
  Move part = move;
  part.from = point_at(move, from);
  part.to = point_at(move, to);
  if (move.kind != MoveKind::arc)
    return part;
  const double turn = (to - from) * arc_turn_rad(move);
  // Whole turns beyond one are counted; what is left is more than nothing and at most a turn.
  const double whole = std::max(0.0, std::ceil(std::abs(turn) / kTwoPi - 1e-9) - 1);
  part.full_turns = static_cast<std::uint8_t>(whole);
  part.turn_rad = static_cast<float>(turn - std::copysign(whole * kTwoPi, turn));
  return part;
}

Move reversed(const Move& move) {
  Move back = move;
  std::swap(back.from, back.to);
  back.turn_rad = -move.turn_rad;
  return back;
}

std::vector<PathLoop> closed_loops(const Path& path, const PathLayer& layer) {
  std::vector<PathLoop> loops;
  for (std::size_t i = layer.first; i < layer.last; ++i) {
    const Vec3 start = path.moves[i].from;
    double area = 0;
    for (std::size_t j = i; j < layer.last; ++j) {
      const Move& move = path.moves[j];
      if (!on_level(move, layer.level_mm))
        break;
      area += 0.5 * cross(xy(move.from) - xy(start), xy(move.to) - xy(start));
      if (move.kind == MoveKind::arc) {
        const double turn = arc_turn_rad(move), r = norm(xy(move.from) - move.centre);
        area += 0.5 * r * r * (turn - std::sin(turn));
      }
      if (!same_place(move.to, start))
        continue;
      if (std::abs(area) > 1)
        loops.push_back({i, j + 1, area}), i = j;
      break;
    }
  }
  return loops;
}

std::vector<PathLayer> path_layers(const Path& path, double top_mm) {
  const std::vector<double> level = pass_levels_mm(path);
  std::vector<PathLayer> layers;
  double above = top_mm, here = top_mm;
  std::vector<std::size_t> standing;
  std::set<std::pair<int, int>>
      changed; // tools that have cut: what stands before its first cut is its change
  for (std::size_t i = 0; i < path.moves.size();) {
    if (!is_feed(path.moves[i])) {
      if (path.moves[i].kind == MoveKind::tool_change)
        standing.clear(); // the writer makes the change
      else if (path.moves[i].kind != MoveKind::rapid)
        standing.push_back(i);
      ++i;
      continue;
    }
    PathLayer layer;
    layer.first = i;
    if (changed.insert({path.moves[i].tool, path.moves[i].tool_number}).second)
      standing.clear();
    layer.level_mm = level[i];
    layer.low_mm = layer.high_mm = xy(path.moves[i].from);
    const int tool = path.moves[i].tool;
    for (; i < path.moves.size() && is_feed(path.moves[i]) && path.moves[i].tool == tool &&
           std::abs(level[i] - layer.level_mm) < kSamePlace_mm;
         ++i)
      for (int k = 0; k <= kBoxPoints; ++k) {
        const Vec3 p = point_at(path.moves[i], static_cast<double>(k) / kBoxPoints);
        layer.low_mm = {std::min(layer.low_mm.x, p.x), std::min(layer.low_mm.y, p.y)};
        layer.high_mm = {std::max(layer.high_mm.x, p.x), std::max(layer.high_mm.y, p.y)};
      }
    layer.last = i;
    if (layer.level_mm >= top_mm - kSamePlace_mm)
      continue;
    if (layer.level_mm < here - kSamePlace_mm)
      above = here;
    if (layer.level_mm > here + kSamePlace_mm)
      above = top_mm;
    here = layer.level_mm;
    layer.above_mm = above;
    layer.before = std::move(standing);
    standing.clear();
    layers.push_back(layer);
  }
  return layers;
}

} // namespace snagmap
