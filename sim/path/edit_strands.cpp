// Changes that keep strands short.
#include "sim/path/edit.hpp"
#include "sim/path/writer.hpp"

#include <algorithm>
#include <cmath>
#include <tuple>
#include <utility>

namespace snagmap {
namespace {

constexpr double kNeighbours = 0.9; // ways this share of a cutter apart leave nothing between them
constexpr double kSteep = 0.7;      // sine of the least angle between a way and the slot that crosses it
constexpr double kChord_rad =
    0.1; // arcs are crossed as chords; they only choose where a slot begins and ends

struct Crossing {
  double along_mm;
  bool steep;
};

/// Where the level ways of a layer cross the line x = at (across_x) or y = at, in order along it.
std::vector<Crossing> crossings(const Path& path, const PathLayer& layer, bool across_x, double at_mm) {
  std::vector<Crossing> found;
  for (std::size_t i = layer.first; i < layer.last; ++i) {
    const Move& move = path.moves[i];
    if (!on_level(move, layer.level_mm))
      continue;
    const int chords =
        move.kind == MoveKind::arc
            ? std::max(1, static_cast<int>(std::ceil(std::abs(arc_turn_rad(move)) / kChord_rad)))
            : 1;
    Vec3 from = move.from;
    for (int k = 1; k <= chords; ++k) {
      const Vec3 to = point_at(move, static_cast<double>(k) / chords);
      const Vec2 a = across_x ? Vec2{from.x, from.y} : Vec2{from.y, from.x};
      const Vec2 b = across_x ? Vec2{to.x, to.y} : Vec2{to.y, to.x};
      from = to;
      if ((a.x < at_mm) == (b.x < at_mm))
        continue;
      found.push_back(
          {a.y + (at_mm - a.x) / (b.x - a.x) * (b.y - a.y), std::abs(b.x - a.x) > kSteep * norm(b - a)});
    }
  }
  std::sort(found.begin(), found.end(),
            [](const Crossing& a, const Crossing& b) { return a.along_mm < b.along_mm; });
  return found;
}

/// The slot's parts, each in foam the layer clears itself.
std::vector<std::pair<double, double>> parts_between(const std::vector<Crossing>& ways, double diameter_mm) {
  std::vector<std::pair<double, double>> parts;
  for (std::size_t i = 0; i + 1 < ways.size(); ++i) {
    const Crossing &a = ways[i], &b = ways[i + 1];
    if (!a.steep || !b.steep || b.along_mm - a.along_mm > kNeighbours * diameter_mm)
      continue;
    if (!parts.empty() && parts.back().second == a.along_mm)
      parts.back().second = b.along_mm;
    else
      parts.push_back({a.along_mm, b.along_mm});
  }
  return parts;
}

} // namespace

std::optional<Path> with_walls_first(const Path& path, double top_mm) {
  const std::vector<PathLayer> layers = path_layers(path, top_mm);
  bool any = false;
  Path out = rewritten(path, top_mm, layers, [&](PathWriter& writer) {
    for (const PathLayer& layer : layers) {
      writer.stands_before(layer);
      const std::vector<PathLoop> loops = closed_loops(path, layer);
      const auto wall =
          std::max_element(loops.begin(), loops.end(), [](const PathLoop& a, const PathLoop& b) {
            return std::abs(a.area_mm2) < std::abs(b.area_mm2);
          });
      if (loops.empty() || wall == loops.begin()) {
        writer.layer(layer.first, layer.last);
        continue;
      }
      any = true;
      writer.layer(wall->first, wall->last);
      writer.layer(layer.first, wall->first);
      writer.layer(wall->last, layer.last);
    }
  });
  if (!any)
    return {};
  return out;
}

std::optional<Path> with_cross_cuts(const Path& path, double top_mm,
                                    const std::vector<std::pair<std::size_t, std::size_t>>& within,
                                    const std::vector<double>& diameter_mm, double apart_mm,
                                    double longest_mm) {
  const std::vector<PathLayer> layers = path_layers(path, top_mm);
  bool any = false;
  const auto cross = [&](PathWriter& writer, const PathLayer& layer) {
    const auto first = std::find_if(path.moves.begin() + static_cast<std::ptrdiff_t>(layer.first),
                                    path.moves.begin() + static_cast<std::ptrdiff_t>(layer.last),
                                    [&](const Move& m) { return on_level(m, layer.level_mm); });
    if (first == path.moves.begin() + static_cast<std::ptrdiff_t>(layer.last))
      return;
    for (const bool across_x : {true, false}) {
      const double low = across_x ? layer.low_mm.x : layer.low_mm.y,
                   high = across_x ? layer.high_mm.x : layer.high_mm.y;
      const int slots = std::max(1, static_cast<int>(std::ceil((high - low) / apart_mm)) - 1);
      for (int k = 1; k <= slots; ++k) {
        const double at = low + k * (high - low) / (slots + 1);
        for (const auto& [from, to] : parts_between(crossings(path, layer, across_x, at),
                                                    diameter_mm[static_cast<std::size_t>(first->tool)])) {
          const int pieces = static_cast<int>(std::ceil((to - from) / longest_mm));
          for (int piece = 0; piece < pieces; ++piece) {
            const double a = from + piece * (to - from) / pieces,
                         b = from + (piece + 1) * (to - from) / pieces;
            Move slot = *first;
            slot.kind = MoveKind::line;
            slot.turn_rad = 0, slot.full_turns = 0;
            slot.from = across_x ? Vec3{at, a, layer.level_mm} : Vec3{a, at, layer.level_mm};
            slot.to = across_x ? Vec3{at, b, layer.level_mm} : Vec3{b, at, layer.level_mm};
            writer.copy(slot);
            writer.lift(slot);
            any = true;
          }
        }
      }
    }
  };
  Path out = rewritten(path, top_mm, layers, [&](PathWriter& writer) {
    for (const PathLayer& layer : layers) {
      writer.stands_before(layer);
      if (std::any_of(within.begin(), within.end(),
                      [&](const auto& run) { return run.first < layer.last && layer.first <= run.second; }))
        cross(writer, layer);
      writer.layer(layer.first, layer.last);
    }
  });
  if (!any)
    return {};
  return out;
}

Path with_lifts(const Path& path, double top_mm, std::vector<PathCutAt> places) {
  std::stable_sort(places.begin(), places.end(), [](const PathCutAt& a, const PathCutAt& b) {
    return std::tie(a.move, a.share) < std::tie(b.move, b.share);
  });
  PathWriter writer(path, top_mm);
  auto next = places.begin();
  for (std::size_t i = 0; i < path.moves.size(); ++i) {
    const Move& move = path.moves[i];
    double done = 0;
    for (; next != places.end() && next->move == i; ++next) {
      if (!is_feed(move) || next->share < done || next->share >= 1)
        continue;
      if (next->share > done) {
        writer.copy(part_of(move, done, next->share));
        done = next->share;
      }
      writer.lift(move);
    }
    writer.copy(done > 0 ? part_of(move, done, 1) : move);
  }
  return writer.take();
}

Path with_holes(const Path& path, double top_mm, std::vector<PathCutAt> places) {
  const std::vector<PathLayer> layers = path_layers(path, top_mm);
  std::stable_sort(places.begin(), places.end(),
                   [](const PathCutAt& a, const PathCutAt& b) { return a.move < b.move; });
  PathWriter writer(path, top_mm);
  auto next = places.begin();
  std::size_t at = 0;
  for (const PathLayer& layer : layers) {
    writer.copy_range(at, layer.first);
    for (; next != places.end() && next->move < layer.last; ++next)
      writer.hole(point_at(path.moves[next->move], next->share), path.moves[next->move]);
    writer.copy_range(layer.first, layer.last);
    at = layer.last;
  }
  writer.copy_range(at, path.moves.size());
  return writer.take();
}

} // namespace snagmap
