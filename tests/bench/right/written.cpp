// Programs that are written: random programs, every lever, read back by our reader and by rs274.
#include "tests/bench/right/parts.hpp"
#include "tests/sim/path/tried_levers.hpp"
#include "tests/sim/program/rs274_witness.hpp"

#include <cstdio>
#include <map>

namespace snagmap::bench {

std::vector<RightGoal> written_programs() {
  using namespace snagmap::witness;
  constexpr unsigned kPrograms = 300;
  struct Count {
    int tried = 0, equal = 0, seen = 0, as_seen = 0;
  };
  std::map<std::string, Count> counts;
  const bool witness = has_rs274();
  for (unsigned seed = 1001; seed < 1001 + kPrograms; ++seed) {
    const RandomProgram program = ProgramMaker(seed).make();
    const Outcome<Path> path = parse_program(program.text, "random.nc", program.how);
    if (!path) {
      std::printf("seed %u: %s\n", seed, to_text(path.faults().front()).c_str());
      ++counts["read"].tried;
      continue;
    }
    const FoamLeft before = foam_left(program.cutters, *path);
    for (const TriedLever& lever : all_levers(seed)) {
      bool tried = false;
      WrittenProgram written;
      const std::string fault = lever_fault(lever, program, *path, before, tried, &written);
      Count& count = counts[lever.name];
      count.tried += tried;
      count.equal += tried && fault.empty();
      if (!fault.empty())
        std::printf("seed %u, %s: %s\n", seed, lever.name, fault.c_str());
      if (!tried || !fault.empty() || !witness)
        continue;
      ++count.seen;
      const std::string unlike = unlike_rs274(written.path, rs274(written.text));
      count.as_seen += unlike.empty();
      if (!unlike.empty())
        std::printf("seed %u, %s, rs274: %s\n", seed, lever.name, unlike.c_str());
    }
  }
  int tried = 0, equal = 0, seen = 0, as_seen = 0;
  std::printf("%-16s %8s %8s %8s %8s\n", "lever", "written", "equal", "rs274", "alike");
  for (const auto& [name, count] : counts) {
    std::printf("%-16s %8d %8d %8d %8d\n", name.c_str(), count.tried, count.equal, count.seen, count.as_seen);
    tried += count.tried, equal += count.equal, seen += count.seen, as_seen += count.as_seen;
  }
  std::printf("%u programs; rs274 %s\n", kPrograms, witness ? "was asked" : "is not installed");
  std::vector<RightGoal> goals{{"written_programs_equal", tried > 0 ? 100.0 * equal / tried : 0, 100, false}};
  if (witness)
    goals.push_back({"written_programs_as_rs274", seen > 0 ? 100.0 * as_seen / seen : 0, 100, false});
  return goals;
}

} // namespace snagmap::bench
