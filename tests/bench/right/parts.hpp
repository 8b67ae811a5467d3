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

/// Random programs x levers: the written file is what was judged (goal written_programs_equal, percent).
std::vector<RightGoal> written_programs();
std::vector<RightGoal> right_stops();

} // namespace snagmap::bench
