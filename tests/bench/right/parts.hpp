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

std::vector<RightGoal> hangs(); ///< no tiny job runs for ever, none gives a number that is none

} // namespace snagmap::bench
