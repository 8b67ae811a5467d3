// Canned cycles written out as moves.
// Rules from NIST RS274/NGC version 3 (NISTIR 6556) and ISO 6983-1, from memory.
#include "tests/sim/program_read.hpp"

#include <gtest/gtest.h>

#include <cmath>

using namespace snagmap;

TEST(Cycles, PecksReachTheWorkedBottoms) {
  const Path path = read("F100\nG0 Z10\nG99 G83 X5 Y5 R2 Z-10 Q3", at_origin());
  EXPECT_EQ(bottoms(path), (std::vector<double>{-1, -4, -7, -10}));
  // Re-entry stops 0.254 mm short of the last bottom.
  std::vector<double> entries;
  for (std::size_t i = 1; i < path.moves.size(); ++i)
    if (path.moves[i].kind == MoveKind::line && path.moves[i].from.z < 0)
      entries.push_back(path.moves[i].from.z);
  ASSERT_EQ(entries.size(), 3u);
  EXPECT_NEAR(entries[0], -1 + 0.254, 1e-12);
  EXPECT_NEAR(entries[2], -7 + 0.254, 1e-12);
  expect_at(path.moves.back().to, 5, 5, 2);
}

TEST(Cycles, ReturnToTheStartOrToR) {
  expect_at(last("F100\nG0 Z10\nG98 G81 X5 Y5 R2 Z-3"), 5, 5, 10);
  expect_at(last("F100\nG0 Z10\nG99 G81 X5 Y5 R2 Z-3"), 5, 5, 2);
  expect_at(last("F100\nG0 Z1\nG98 G81 X5 Y5 R2 Z-3"), 5, 5, 2); // started below R
}

TEST(Cycles, RAndZAreStickyAndIncrementsRepeat) {
  const Path path = read("F100\nG0 Z10\nG99 G81 X5 Y5 R2 Z-3\nX10\nY10", at_origin());
  EXPECT_EQ(bottoms(path), (std::vector<double>{-3, -3, -3}));
  expect_at(path.moves.back().to, 10, 10, 2);
  // In G91, R counts from the start Z and Z from R.
  const Path row = read("F100\nG0 Z10\nG91 G98 G81 X5 R-8 Z-5 L3", at_origin());
  EXPECT_EQ(bottoms(row), (std::vector<double>{-3, -3, -3}));
  expect_at(row.moves.back().to, 15, 0, 10);
}

TEST(Cycles, DwellsFeedOutAndSpindleStops) {
  const auto kinds = [&](const std::string& line) {
    std::string text;
    for (const Move& move : read("S100 M3 F100\nG0 Z2\n" + line, at_origin()).moves)
      text += "rlads"[static_cast<int>(move.kind)];
    return text;
  };
  // r rapid, l line, a arc, d dwell, s stop; the first d is the spindle's run-up, the first r goes to Z2.
  EXPECT_EQ(kinds("G81 X1 R2 Z-1"), "drrlr");
  EXPECT_EQ(kinds("G82 X1 R2 Z-1 P1"), "drrldr");
  EXPECT_EQ(kinds("G85 X1 R2 Z-1"), "drrll");
  EXPECT_EQ(kinds("G86 X1 R2 Z-1 P1"), "drrldrd");
  EXPECT_EQ(kinds("G88 X1 R2 Z-1 P1"), "drrldsrd");
  EXPECT_EQ(kinds("G89 X1 R2 Z-1 P1"), "drrldl");
  EXPECT_EQ(kinds("G84 X1 R2 Z-1"), "drrll");
  EXPECT_EQ(kinds("G73 X1 R2 Z-1 Q2"), "drrlrlr");
}

TEST(Cycles, WorkAlongTheNormalOfThePlane) {
  const Path path = read("F100 G18\nG0 Y10\nG99 G81 X5 Z6 R2 Y-3", at_origin());
  expect_at(path.moves.back().to, 5, 2, 6);
  double deepest = 0;
  for (const Move& move : path.moves)
    deepest = std::min(deepest, move.to.y);
  EXPECT_EQ(deepest, -3);
}
