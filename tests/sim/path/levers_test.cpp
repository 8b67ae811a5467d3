// Every lever on random programs: what was judged is what the written file cuts. Checked against our own
// record of both and, motion by motion, against rs274 (LinuxCNC), an interpreter that is not ours.
#include "tests/sim/path/tried_levers.hpp"
#include "tests/sim/program/rs274_witness.hpp"

#include <gtest/gtest.h>

#include <set>

using namespace snagmap;
using namespace snagmap::witness;

TEST(Levers, WhatWasJudgedIsWhatTheWrittenFileCuts) {
  const bool witness = has_rs274();
  std::set<std::string> applied;
  for (unsigned seed = 1; seed <= 9; ++seed) {
    const RandomProgram program = ProgramMaker(seed).make();
    const Outcome<Path> path = parse_program(program.text, "random.nc", program.how);
    ASSERT_TRUE(path) << seed << ": " << to_text(path.faults().front());
    const FoamLeft before = foam_left(program.cutters, *path);
    for (const TriedLever& lever : all_levers(seed)) {
      SCOPED_TRACE(std::string(lever.name) + ", seed " + std::to_string(seed));
      bool tried = false;
      WrittenProgram written;
      const std::string fault = lever_fault(lever, program, *path, before, tried, &written);
      EXPECT_EQ(fault, "");
      if (!tried || !fault.empty())
        continue;
      applied.insert(lever.name);
      if (witness && seed % 3 == 0) {
        EXPECT_EQ(unlike_rs274(written.path, rs274(written.text)), "");
      }
    }
  }
  EXPECT_EQ(applied.size(), all_levers(1).size()) << "a lever that applied nowhere is not tested";
}
