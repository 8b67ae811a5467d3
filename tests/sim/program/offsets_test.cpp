// Where numbers lie in the sheet: work systems, G92, G53, home, tool lengths, tools.
// Rules from NIST RS274/NGC version 3 (NISTIR 6556) and ISO 6983-1, from memory.
#include "tests/sim/program_read.hpp"

#include <gtest/gtest.h>

#include <cmath>

using namespace snagmap;

TEST(WorkOffsets, G10AndG54ToG593MoveTheOrigin) {
  ProgramOptions options = at_origin();
  options.machine_zero_mm = Vec3{0, 0, 0};
  expect_at(last("G10 L2 P2 X10 Y20 Z30\nG55 G0 X1 Y1 Z1", options), 11, 21, 31);
  expect_at(last("G10 L2 P9 X-1\nG59.3 G0 X1 Y1 Z1", options), 0, 1, 1);
  expect_at(last("G54\nG10 L2 P1 X5\nG0 X0 Y0", options), 5, 0, 0); // the system in force moves at once
  expect_at(last("G10 L2 P3 X7\nG56\nG0 X#5261 Y#5220", options), 14, 3, 0);
  options.work_origin_mm[4] = {40, 0, 0};
  expect_at(last("G57 G0 X1", options), 41, 0, 0);
  EXPECT_TRUE(notes(read("G10 L2 P2 X1", options), RemarkKind::origin_moved));
}

TEST(WorkOffsets, FirstSystemUsedIsTheSheets) {
  expect_at(last("G55\nG0 X1"), 1, 0, 0);
  EXPECT_TRUE(notes(read("G55\nG0 X1"), RemarkKind::first_system));
}

TEST(MachineCoordinates, G53PassesOverAllOffsetsForOneLine) {
  ProgramOptions options = at_origin();
  options.machine_zero_mm = Vec3{-100, -50, 80};
  expect_at(last("G92 X7\nG91 G53 G0 X110 Z-5", options), 10, 0, 75);
  expect_at(last("G0 X1\nG53 X110\nX3", options), 3, 0, 0);
  EXPECT_TRUE(notes(read("G53 G0 Z0"), RemarkKind::machine_zero_assumed));
}

TEST(G92Family, NamesThePresentPlaceInEverySystem) {
  const std::string shift = "G0 X10 Y5\nG92 X0 Y0\n"; // numbers now count from (10, 5)
  expect_at(last(shift + "X1 Y1"), 11, 6, 0);
  expect_at(last(shift + "G92.1\nX1 Y1"), 1, 1, 0);
  expect_at(last(shift + "G92.2\nX1 Y1"), 1, 1, 0);
  expect_at(last(shift + "G92.2\nG92.3\nX1 Y1"), 11, 6, 0);
  expect_at(last(shift + "G92.1\nG92.3\nX1 Y1"), 1, 1, 0); // the parameters are cleared too
  ProgramOptions options = at_origin();
  options.work_origin_mm[2] = {100, 0, 0};
  expect_at(last(shift + "G55 X1 Y1", options), 111, 6, 0);
}

TEST(Home, G28GoesThroughTheGivenPoint) {
  ProgramOptions options = at_origin();
  options.home_mm = Vec3{-20, -30, 50};
  const Path path = read("G28 X1 Y2 Z3", options);
  ASSERT_EQ(path.moves.size(), 2u);
  expect_at(path.moves[0].to, 1, 2, 3);
  expect_at(path.moves[1].to, -20, -30, 50);
  EXPECT_EQ(path.moves[1].kind, MoveKind::rapid);
  expect_at(last("G0 X4\nG91 G28 Z0", options), 4, 0, 50); // only the axis named
  expect_at(last("G0 X4\nG30", options), -20, -30, 50);
  options.second_home_mm = Vec3{1, 1, 60};
  expect_at(last("G0 X4\nG30", options), 1, 1, 60);
  expect_at(last("G0 X4\nG28", options), -20, -30, 50);
  expect_at(last("#5181=1 #5182=2 #5183=3\nG30", options), 1, 2, 3); // machine's zero at the start place
  EXPECT_TRUE(notes(read("G28 Z0"), RemarkKind::home_assumed));
}

TEST(ToolLength, G43ShiftsByTheDifferenceOfTheLengths) {
  ProgramOptions options = at_origin();
  options.tool_length_mm = {{1, 50}, {2, 60}};
  expect_at(last("T1 M6\nG43 H1 G0 Z5", options), 0, 0, 5);
  expect_at(last("T1 M6\nG43 H2 G0 Z5", options), 0, 0, 15); // corrected for a cutter 10 mm longer
  expect_at(last("T1 M6\nG43 H2\nG49 G0 Z5", options), 0, 0, 5);
  expect_at(last("T1 M6\nG43 H0 G0 Z5", options), 0, 0, 5);
  expect_at(last("G43 H7 G0 Z5", at_origin()), 0, 0, 5); // no tool named: its own length
}

TEST(Tools, SeveralToolsFollowTheScenesIndex) {
  ProgramOptions options = at_origin();
  options.tool_index = {{3, 0}, {7, 1}};
  const Path path = read("F100 T3 M6\nG1 X1\nT7 M6\nX2\nT3\nX3", options);
  std::vector<int> tools;
  for (const Move& move : path.moves)
    if (move.kind == MoveKind::line)
      tools.push_back(move.tool);
  EXPECT_EQ(tools, (std::vector<int>{0, 1, 1})); // T without M6 changes nothing
}
