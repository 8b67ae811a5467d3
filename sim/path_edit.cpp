#include "sim/path_edit.hpp"

#include "sim/path_writer.hpp"
#include "sim/sampling.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

namespace snagmap {
namespace {

/// The moves before the first layer that are no approach, then `body`, then what follows the last layer.
template <class Body>
Path rewritten(const Path& path, double top_mm, const std::vector<PathLayer>& layers, Body body) {
  PathWriter writer(path, top_mm);
  if (!layers.empty()) {
    // Until the first cut everything stands as it is, its approach included.
    writer.copy_range(0, layers.front().first);
    body(writer);
    writer.copy_range(layers.back().last, path.moves.size());
  } else {
    writer.copy_range(0, path.moves.size());
  }
  return writer.take();
}

Move part_of(const Move& move, double from, double to) {
  Move part = move;
  part.from = point_at(move, from);
  part.to = point_at(move, to);
  part.turn_rad = static_cast<float>(move.turn_rad * (to - from));
  return part;
}

Move reversed(const Move& move) {
  Move back = move;
  std::swap(back.from, back.to);
  back.turn_rad = -move.turn_rad;
  return back;
}

/// Closed level loops of a layer as [first, last), in order, none within another.
std::vector<std::pair<std::size_t, std::size_t>> loops_of(const Path& path, const PathLayer& layer) {
  std::vector<std::pair<std::size_t, std::size_t>> loops;
  for (std::size_t i = layer.first; i < layer.last; ++i) {
    const Vec3 start = path.moves[i].from;
    if (std::abs(start.z - layer.level_mm) > kSamePlace_mm)
      continue;
    double area = 0;
    for (std::size_t j = i; j < layer.last; ++j) {
      const Move& move = path.moves[j];
      if (std::abs(move.to.z - layer.level_mm) > kSamePlace_mm)
        break;
      area += 0.5 * cross(xy(move.from) - xy(start), xy(move.to) - xy(start));
      if (move.kind == MoveKind::arc) {
        const double turn = arc_turn_rad(move), r = norm(xy(move.from) - move.centre);
        area += 0.5 * r * r * (turn - std::sin(turn));
      }
      if (!same_place(move.to, start))
        continue;
      if (std::abs(area) > 1)
        loops.push_back({i, j + 1}), i = j;
      break;
    }
  }
  return loops;
}

bool overlap(const PathLayer& a, const PathLayer& b) {
  return a.low_mm.x < b.high_mm.x && b.low_mm.x < a.high_mm.x && a.low_mm.y < b.high_mm.y &&
         b.low_mm.y < a.high_mm.y;
}

} // namespace

std::vector<PathLayer> path_layers(const Path& path, double top_mm) {
  const std::vector<double> level = pass_levels_mm(path);
  std::vector<PathLayer> layers;
  double above = top_mm, here = top_mm;
  for (std::size_t i = 0; i < path.moves.size();) {
    if (!is_feed(path.moves[i])) {
      ++i;
      continue;
    }
    PathLayer layer;
    layer.first = i;
    layer.level_mm = level[i];
    layer.low_mm = layer.high_mm = xy(path.moves[i].from);
    const int tool = path.moves[i].tool;
    for (; i < path.moves.size() && is_feed(path.moves[i]) && path.moves[i].tool == tool &&
           std::abs(level[i] - layer.level_mm) < kSamePlace_mm;
         ++i)
      for (const double share : {0.0, 0.25, 0.5, 0.75, 1.0}) {
        const Vec3 p = point_at(path.moves[i], share);
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
    layers.push_back(layer);
  }
  return layers;
}

std::optional<Path> with_pass_depth(const Path& path, double top_mm, double pass_mm) {
  const std::vector<PathLayer> layers = path_layers(path, top_mm);
  const auto parts = [&](const PathLayer& layer) {
    return std::max(1, static_cast<int>(std::ceil((layer.above_mm - layer.level_mm) / pass_mm - 1e-6)));
  };
  if (std::none_of(layers.begin(), layers.end(), [&](const PathLayer& l) { return parts(l) > 1; }))
    return {};
  return rewritten(path, top_mm, layers, [&](PathWriter& writer) {
    for (const PathLayer& layer : layers) {
      const int n = parts(layer);
      for (int k = n - 1; k >= 0; --k)
        writer.layer(layer.first, layer.last, k * (layer.above_mm - layer.level_mm) / n);
    }
  });
}

Path with_order(const Path& path, double top_mm, const std::vector<std::size_t>& moved, std::size_t before) {
  const std::vector<PathLayer> layers = path_layers(path, top_mm);
  return rewritten(path, top_mm, layers, [&](PathWriter& writer) {
    for (std::size_t k = 0; k < layers.size(); ++k) {
      if (k == before)
        for (const std::size_t m : moved)
          writer.layer(layers[m].first, layers[m].last);
      if (std::find(moved.begin(), moved.end(), k) == moved.end())
        writer.layer(layers[k].first, layers[k].last);
    }
  });
}

std::optional<Path> with_finish_last(const Path& path, double top_mm) {
  const std::vector<PathLayer> layers = path_layers(path, top_mm);
  std::vector<std::vector<std::pair<std::size_t, std::size_t>>> loops;
  bool any = false;
  for (const PathLayer& layer : layers) {
    loops.push_back(loops_of(path, layer));
    any = any || loops.back().size() > 1;
  }
  if (!any)
    return {};
  return rewritten(path, top_mm, layers, [&](PathWriter& writer) {
    std::vector<std::size_t> owed; // layers whose last loop is still to cut
    const auto pay = [&] {
      for (const std::size_t k : owed)
        writer.layer(loops[k].back().first, loops[k].back().second);
      owed.clear();
    };
    for (std::size_t k = 0; k < layers.size(); ++k) {
      const bool next_pocket = k > 0 && (layers[k].level_mm >= layers[k - 1].level_mm - kSamePlace_mm ||
                                         !overlap(layers[k], layers[k - 1]));
      if (next_pocket)
        pay();
      if (loops[k].size() < 2) {
        writer.layer(layers[k].first, layers[k].last);
        continue;
      }
      writer.layer(layers[k].first, loops[k].back().first);
      if (loops[k].back().second < layers[k].last)
        writer.layer(loops[k].back().second, layers[k].last);
      owed.push_back(k);
    }
    pay();
  });
}

std::optional<Path> with_loops_reversed(const Path& path, double top_mm) {
  Path out = path;
  bool any = false;
  for (const PathLayer& layer : path_layers(path, top_mm))
    for (const auto& [first, last] : loops_of(path, layer)) {
      for (std::size_t i = first; i < last; ++i)
        out.moves[first + (last - 1 - i)] = reversed(path.moves[i]);
      any = true;
    }
  if (!any)
    return {};
  return out;
}

Path with_feed(const Path& path, double top_mm, double factor) {
  Path out = path;
  for (const PathLayer& layer : path_layers(path, top_mm))
    for (std::size_t i = layer.first; i < layer.last; ++i)
      out.moves[i].feed_mm_min = static_cast<float>(out.moves[i].feed_mm_min * factor);
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
      if (next->share > done && move.full_turns == 0) {
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

std::optional<Path> with_skin(const Path& path, double least_z_mm) {
  Path out = path;
  bool any = false;
  for (Move& move : out.moves) {
    any = any || move.to.z < least_z_mm - kSamePlace_mm;
    move.from.z = std::max(move.from.z, least_z_mm);
    move.to.z = std::max(move.to.z, least_z_mm);
  }
  if (!any)
    return {};
  return out;
}

std::optional<Path> with_tabs(const Path& path, double top_mm, double through_z_mm, int count,
                              double width_mm, double height_mm) {
  std::map<std::size_t, std::size_t> loops; // first move -> one past the last
  for (const PathLayer& layer : path_layers(path, top_mm))
    if (layer.level_mm <= through_z_mm + kSamePlace_mm)
      for (const auto& [first, last] : loops_of(path, layer))
        loops[first] = last;
  Path out = path;
  out.moves.clear();
  bool any = false;
  const auto add = [&](Move move, bool raised) {
    if (raised)
      move.from.z = move.to.z = through_z_mm + height_mm;
    if (!out.moves.empty() && !same_place(out.moves.back().to, move.from)) {
      Move upright = move;
      upright.kind = MoveKind::line;
      upright.from = out.moves.back().to;
      upright.to = move.from;
      out.moves.push_back(upright);
    }
    out.moves.push_back(move);
  };
  for (std::size_t i = 0; i < path.moves.size();) {
    const auto loop = loops.find(i);
    if (loop == loops.end()) {
      add(path.moves[i++], false);
      continue;
    }
    double total = 0;
    for (std::size_t k = i; k < loop->second; ++k)
      total += length_mm(path.moves[k]);
    const bool room = total > 2 * count * width_mm;
    any = any || room;
    for (double at = 0; i < loop->second; ++i) {
      const double length = length_mm(path.moves[i]);
      std::vector<double> shares{0, 1};
      for (int k = 0; k < count && room; ++k)
        for (const double side : {-0.5, 0.5}) {
          const double share = ((k + 0.5) * total / count + side * width_mm - at) / length;
          if (share > 0 && share < 1)
            shares.push_back(share);
        }
      std::sort(shares.begin(), shares.end());
      for (std::size_t k = 0; k + 1 < shares.size(); ++k) {
        const double middle = at + 0.5 * (shares[k] + shares[k + 1]) * length;
        const double off = std::abs(std::remainder(middle - 0.5 * total / count, total / count));
        add(shares.size() == 2 ? path.moves[i] : part_of(path.moves[i], shares[k], shares[k + 1]),
            room && off < 0.5 * width_mm);
      }
      at += length;
    }
  }
  if (!any)
    return {};
  return out;
}

} // namespace snagmap
