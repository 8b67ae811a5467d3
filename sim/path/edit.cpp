#include "sim/path/edit.hpp"

#include "sim/path/writer.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

bool overlap(const PathLayer& a, const PathLayer& b) {
  return a.low_mm.x < b.high_mm.x && b.low_mm.x < a.high_mm.x && a.low_mm.y < b.high_mm.y &&
         b.low_mm.y < a.high_mm.y;
}

} // namespace

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
      writer.stands_before(layer);
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
        for (const std::size_t m : moved) {
          writer.stands_before(layers[m]);
          writer.layer(layers[m].first, layers[m].last);
        }
      if (std::find(moved.begin(), moved.end(), k) == moved.end()) {
        writer.stands_before(layers[k]);
        writer.layer(layers[k].first, layers[k].last);
      }
    }
  });
}

std::optional<Path> with_finish_last(const Path& path, double top_mm) {
  const std::vector<PathLayer> layers = path_layers(path, top_mm);
  std::vector<std::vector<PathLoop>> loops;
  bool any = false;
  for (const PathLayer& layer : layers) {
    loops.push_back(closed_loops(path, layer));
    any = any || loops.back().size() > 1;
  }
  if (!any)
    return {};
  return rewritten(path, top_mm, layers, [&](PathWriter& writer) {
    std::vector<std::size_t> owed; // layers whose last loop is still to cut
    const auto pay = [&] {
      for (const std::size_t k : owed)
        writer.layer(loops[k].back().first, loops[k].back().last);
      owed.clear();
    };
    for (std::size_t k = 0; k < layers.size(); ++k) {
      const bool next_pocket =
          k > 0 && (layers[k].level_mm >= layers[k - 1].level_mm - kSamePlace_mm ||
                    !overlap(layers[k], layers[k - 1]) ||
                    path.moves[layers[k].first].tool != path.moves[layers[k - 1].first].tool);
      if (next_pocket)
        pay();
      writer.stands_before(layers[k]);
      if (loops[k].size() < 2) {
        writer.layer(layers[k].first, layers[k].last);
        continue;
      }
      writer.layer(layers[k].first, loops[k].back().first);
      if (loops[k].back().last < layers[k].last)
        writer.layer(loops[k].back().last, layers[k].last);
      owed.push_back(k);
    }
    pay();
  });
}

std::optional<Path> with_loops_reversed(const Path& path, double top_mm) {
  Path out = path;
  bool any = false;
  for (const PathLayer& layer : path_layers(path, top_mm))
    for (const PathLoop& loop : closed_loops(path, layer)) {
      for (std::size_t i = loop.first; i < loop.last; ++i)
        out.moves[loop.first + (loop.last - 1 - i)] = reversed(path.moves[i]);
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

} // namespace snagmap
