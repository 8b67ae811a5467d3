// Programs for every rule of the reader, and programs at random, through rs274 of LinuxCNC: the same motions
// to 1e-4 mm.
#include "tests/sim/program/rs274_witness.hpp"
#include "tests/sim/program/rule_programs.hpp"
#include "tests/sim/program_read.hpp"

using namespace snagmap;
using namespace snagmap::witness;

namespace {

#define NEEDS_RS274                                                                                          \
  if (!has_rs274())                                                                                          \
  GTEST_SKIP() << "rs274 is not installed: apt install linuxcnc-uspace"

void expect_same_motions(const std::string& rule, const std::string& text) {
  const Outcome<Path> path = parse_program(text, "t.nc", at_origin());
  ASSERT_TRUE(path) << rule << ": " << told(path) << "\n" << text;
  EXPECT_EQ(unlike_rs274(*path, rs274(text)), "") << rule << "\n" << text;
}

} // namespace

TEST(Rs274Corpus, ProgramsForOneRuleEachMoveAsRs274Says) {
  NEEDS_RS274;
  const auto programs = rule_programs();
  EXPECT_GE(programs.size(), 300u);
  for (const RuleProgram& program : programs)
    expect_same_motions(program.rule, program.text);
}

TEST(Rs274Corpus, ProgramsAtRandomMoveAsRs274Says) {
  NEEDS_RS274;
  for (unsigned seed = 1; seed <= 200; ++seed)
    expect_same_motions("seed " + std::to_string(seed), random_program(seed));
}

// What LinuxCNC refuses is refused under its dialect, at the same programs.
TEST(Rs274Corpus, WhatRs274RefusesIsRefusedUnderItsDialect) {
  NEEDS_RS274;
  ProgramOptions options = at_origin();
  options.dialect = Dialect::linuxcnc;
  for (const char* lines : {"G1 X1",
                            "X1",
                            "G81 X1 Z-1 R1 F100\nG80\nX3",
                            "F100\nG2 X10",
                            "F100\nG2 X10 I5 R5",
                            "F100\nG2 X10 I5 K1",
                            "F100\nG2 X20.06 I10",
                            "F100\nG2 X20.01 R10",
                            "G0 X1 X2",
                            "G0 G1 X1",
                            "G1 X[1/0] F100",
                            "G1 X#<no> F100",
                            "G0 X1 N5",
                            "G1 X1 (open",
                            "F100 G81 X1 Z-1",
                            "F100 G82 X1 Z-1 R1",
                            "F100 G83 X1 Z-1 R1",
                            "F100 G81 X1 Z-1 R1 L0",
                            "G93 F1 G81 X1 Z-1 R1",
                            "F100 G41.1 D4\nG41.1 D4",
                            "F100 G41.1 D4\nG1 X1",
                            "F100 G41.1 D4\nG18",
                            "F100 G41.1 D4\nG1 X10\nY1\nX0",
                            "o1 call",
                            "M98 P77",
                            "G4",
                            "G1 X1 E3 F100",
                            "F-1",
                            "G0 X1e",
                            "M72",
                            "M70\nM71\nM72",
                            "G10 L2"}) {
    const std::string text = std::string("G21 G90 G17\n") + lines + "\nM2\n";
    EXPECT_FALSE(rs274(text).ended) << text;
    EXPECT_FALSE(parse_program(text, "t.nc", options)) << text;
  }
}
