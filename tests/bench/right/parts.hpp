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
/// Random programs x levers: the written file is what was judged (goal written_programs_equal, percent).
std::vector<RightGoal> written_programs();
std::vector<RightGoal> right_stops();
std::vector<RightGoal> hangs(); ///< no tiny job runs for ever, none gives a number that is none

} // namespace snagmap::bench
