// Whole worked programs: lengths, times and extents by hand.
#include "tests/sim/program_read.hpp"

#include <gtest/gtest.h>

#include <cmath>

using namespace snagmap;

namespace {

const char* const kWhole =
    "%\nG21 G17 G90 G94 G40 G49 G54\nT1 M6\nS18000 M3\nG0 Z5\nG0 X0 Y0\nG1 Z-3 F600\nG1 X40 F3000\n"
    "G3 X50 Y10 I0 J10\nG1 Y30\nG2 X60 Y40 R10\nG1 X0\nY0\nG0 Z5\nM30\n%\n";

} // namespace

// Lengths and times by hand from the program's own numbers.
TEST(WholeProgram, LengthsTimeExtentsAndArcsAreThoseByHand) {
  ProgramOptions options;
  options.start_mm = {0, 0, 5};
  const auto path = parse_program(kWhole, "n1.nc", options);
  ASSERT_TRUE(path) << told(path);
  double slow = 0, fast = 0;
  Vec3 low{1e9, 1e9, 1e9}, high{-1e9, -1e9, -1e9};
  std::vector<Move> arcs;
  for (const Move& move : path->moves) {
    if (move.kind == MoveKind::line || move.kind == MoveKind::arc)
      (move.feed_mm_min == 600 ? slow : fast) += length_mm(move);
    if (move.kind == MoveKind::arc)
      arcs.push_back(move);
    for (const Vec3 p : {move.from, move.to}) {
      low = {std::min(low.x, p.x), std::min(low.y, p.y), std::min(low.z, p.z)};
      high = {std::max(high.x, p.x), std::max(high.y, p.y), std::max(high.z, p.z)};
    }
  }
  EXPECT_NEAR(slow, 8, 1e-12);
  EXPECT_NEAR(fast, 191.415927, 1e-6);
  EXPECT_NEAR(60 * (slow / 600 + fast / 3000), 4.628319, 1e-6);
  EXPECT_EQ(low.x, 0);
  EXPECT_EQ(high.x, 60);
  EXPECT_EQ(low.y, 0);
  EXPECT_EQ(high.y, 40);
  EXPECT_EQ(low.z, -3);
  EXPECT_EQ(high.z, 5);
  ASSERT_EQ(arcs.size(), 2u);
  EXPECT_NEAR(arcs[1].centre.x, 60, 1e-12);
  EXPECT_NEAR(arcs[1].centre.y, 30, 1e-12);
  EXPECT_NEAR(arc_turn_rad(arcs[1]), -std::acos(-1.0) / 2, 1e-12);
}

TEST(WholeProgram, InverseTimeWithoutFIsRefusedOnItsLine) {
  std::string text = kWhole;
  text.replace(text.find("G1 Y30"), 6, "G93 G1 Y30");
  const auto path = parse_program(text, "n1.nc", {});
  ASSERT_FALSE(path);
  EXPECT_EQ(path.faults().front().line, 10);
}

TEST(WholeProgram, ArcThatMissesItsEndTellsTheMismatch) {
  std::string text = kWhole;
  text.replace(text.find("J10\n"), 3, "J10.01");
  ProgramOptions options;
  options.start_mm = {0, 0, 5};
  options.arc_tolerance_mm = 0.002;
  const auto path = parse_program(text, "n1.nc", options);
  ASSERT_FALSE(path);
  EXPECT_EQ(path.faults().size(), 1u);
  EXPECT_EQ(path.faults().front().line, 9);
  EXPECT_NE(path.faults().front().what.find("mismatch 0.009995 mm"), std::string::npos) << told(path);
}
