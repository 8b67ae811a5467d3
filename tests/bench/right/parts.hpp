// Parts of `scripts/bench right`. A part prints its table and returns its goals; right.cpp runs them and
// prints the goals last.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace snagmap::bench {

struct RightGoal {
  std::string name;
  double value = 0, bound = 0;
  bool at_most = true;
};

/// Volumes against closed forms: random slots, skims, rings, bores, pockets, balls and vees at voxels of 0.1
/// to 1 mm.
std::vector<RightGoal> volume();

} // namespace snagmap::bench
