// What the removal benchmark cuts: the demo, and pockets of as many short moves as asked for.
#pragma once

#include "sim/record/record.hpp"

#include <string>

namespace snagmap::bench {

struct Job {
  std::string name;
  Box3 sheet;
  std::vector<CutterCard> cutters;
  Path path;
};

/// A pocket in layers of 5 mm, rows 3 mm apart, moves of 1 mm: as many as asked for.
Job pocket(std::size_t moves, double width, double depth, double height);
Job demo();
RemovalRecord cut(const Job& job, double voxel);

} // namespace snagmap::bench
