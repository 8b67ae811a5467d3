// `scripts/bench right [PART]`: what must be right before anything else, tried at scale. Each part prints its
// table; the goals come last.
#include "tests/bench/measure.hpp"
#include "tests/bench/right/parts.hpp"

#include <cstring>
#include <functional>

using namespace snagmap::bench;

int main(int argc, char** argv) {
  const std::vector<std::pair<const char*, std::function<std::vector<RightGoal>()>>> parts = {
      {"volume", volume},
  };
  std::vector<RightGoal> goals;
  for (const auto& [name, run] : parts) {
    if (argc > 1 && std::strcmp(argv[1], name) != 0)
      continue;
    std::printf("\n== %s\n", name);
    for (RightGoal& one : run())
      goals.push_back(std::move(one));
  }
  std::printf("\n");
  for (const RightGoal& one : goals)
    goal(one.name.c_str(), one.value, one.bound, one.at_most);
  return parts.empty();
}
