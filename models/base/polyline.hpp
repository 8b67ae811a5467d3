// The nearest point of a polyline in plan.
#pragma once

#include "models/base/vec.hpp"

#include <algorithm>
#include <limits>
#include <vector>

namespace snagmap {

struct NearestOnLine {
  double distance_mm = std::numeric_limits<double>::infinity(); ///< infinite: the line has no points
  double along_mm = 0;  ///< from the line's start to the nearest point
  double length_mm = 0; ///< of the whole line
};

inline NearestOnLine nearest_on_line(const std::vector<Vec2>& line, Vec2 p) {
  NearestOnLine nearest;
  if (!line.empty())
    nearest.distance_mm = norm(p - line.front());
  for (std::size_t i = 0; i + 1 < line.size(); ++i) {
    const Vec2 run = line[i + 1] - line[i];
    const double length = norm(run);
    if (length < 1e-12)
      continue;
    const double share = std::clamp(dot(p - line[i], run) / (length * length), 0.0, 1.0);
    const double distance = norm(p - (line[i] + share * run));
    if (distance < nearest.distance_mm)
      nearest.distance_mm = distance, nearest.along_mm = nearest.length_mm + share * length;
    nearest.length_mm += length;
  }
  return nearest;
}

} // namespace snagmap
