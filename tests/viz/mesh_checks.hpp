// What a closed surface must obey, whatever it is a surface of.
#pragma once

#include "viz/skin/mesh.hpp"

#include <gtest/gtest.h>

#include <map>
#include <set>

namespace snagmap {

/// Every edge has exactly two triangles that run along it in opposite directions, and the triangles round
/// each vertex form one fan.
inline void expect_closed_manifold(const Mesh& mesh) {
  std::map<std::pair<std::uint32_t, std::uint32_t>, int> along;
  std::vector<int> corners(mesh.points.size(), 0);
  std::vector<std::map<std::uint32_t, std::uint32_t>> next(mesh.points.size());
  for (const Triangle& t : mesh.triangles)
    for (std::size_t c = 0; c < 3; ++c) {
      ++along[{t[c], t[(c + 1) % 3]}];
      ++corners[t[c]];
      next[t[c]][t[(c + 1) % 3]] = t[(c + 2) % 3];
    }
  std::size_t torn = 0, pinched = 0;
  for (const auto& [edge, uses] : along) {
    const auto back = along.find({edge.second, edge.first});
    torn += uses != 1 || back == along.end() || back->second != 1;
  }
  for (std::size_t v = 0; v < next.size(); ++v) {
    if (next[v].empty())
      continue;
    int steps = 0;
    std::uint32_t at = next[v].begin()->first;
    do {
      const auto step = next[v].find(at);
      if (step == next[v].end())
        break;
      at = step->second;
      ++steps;
    } while (at != next[v].begin()->first && steps <= corners[v]);
    pinched += steps != corners[v];
  }
  EXPECT_EQ(torn, 0u) << "edges without exactly two triangles, of " << along.size();
  EXPECT_EQ(pinched, 0u) << "vertices with more than one fan";
}

} // namespace snagmap
