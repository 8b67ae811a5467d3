// Modes and switches: the order of doing, units, feed, distance, path, spindle, and what is noted.
// Rules from NIST RS274/NGC version 3 (NISTIR 6556) and ISO 6983-1, from memory.
#include "tests/sim/program_read.hpp"

#include <gtest/gtest.h>

#include <cmath>

using namespace snagmap;

TEST(OrderOfDoing, WrittenOrderDoesNotMatter) {
  const Path a = read("X10 F100 G1 M3 S500 T1 M6 G91 G18 M0 G4 P1");
  const Path b = read("M0 P1 G4 G18 G91 M6 T1 S500 M3 G1 F100 X10");
  ASSERT_EQ(a.moves.size(), b.moves.size());
  const MoveKind order[] = {MoveKind::tool_change, MoveKind::dwell, MoveKind::dwell, MoveKind::line,
                            MoveKind::stop};
  ASSERT_EQ(a.moves.size(), 5u); // change, run-up, G4, the move, M0
  for (std::size_t i = 0; i < 5; ++i) {
    EXPECT_EQ(a.moves[i].kind, order[i]);
    EXPECT_EQ(b.moves[i].kind, order[i]);
  }
  EXPECT_EQ(a.moves[0].spindle_rpm, 0); // the change stops the spindle, M3 comes after
  EXPECT_EQ(a.moves[3].spindle_rpm, 500);
  EXPECT_EQ(a.moves[3].plane, ArcPlane::zx);
}

TEST(OrderOfDoing, FeedComesBeforeUnits) {
  const Path path = read("G21\nG20 F10 G1 X1", at_origin());
  EXPECT_EQ(path.moves.back().feed_mm_min, 10);
  EXPECT_NEAR(path.moves.back().to.x, 25.4, 1e-12);
  EXPECT_TRUE(notes(path, RemarkKind::feed_with_units));
}

TEST(OrderOfDoing, SystemAndDistanceComeBeforeMotion) {
  ProgramOptions options = at_origin();
  options.work_origin_mm[2] = {100, 0, 0};
  expect_at(last("G0 X1\nX5 G55", options), 105, 0, 0);
  expect_at(last("G0 X1\nX5 G91", options), 6, 0, 0);
}

TEST(Units, ChangeTheMeaningOfLaterNumbersOnly) {
  expect_at(last("G21 G0 X10\nG20 Y1\nG21 Z3"), 10, 25.4, 3);
  EXPECT_TRUE(read("G20 G0 X1").inch);
  EXPECT_FALSE(read("G21 G0 X1").inch);
  EXPECT_TRUE(notes(read("G0 X1"), RemarkKind::units_assumed));
  EXPECT_NEAR(read("G20 F100\nG1 X1").moves.back().feed_mm_min, 100, 1e-4);
  EXPECT_NEAR(read("G20\nF100 G1 X1").moves.back().feed_mm_min, 2540, 1e-3);
}

TEST(InverseTime, TwentyFiveMillimetresWithF60TakeASecond) {
  const Path path = read("G93 G1 X25 F60", at_origin());
  const Move& move = path.moves.back();
  EXPECT_NEAR(60 * length_mm(move) / move.feed_mm_min, 1, 1e-6);
  const Move arc = read("G93 G2 X10 I5 F30", at_origin()).moves.back();
  EXPECT_NEAR(60 * length_mm(arc) / arc.feed_mm_min, 2, 1e-6);
}

TEST(Distance, IncrementsAddUp) {
  expect_at(last("G91 G0 X1 Y2\nX1\nZ-3\nG90 X0"), 0, 2, -3);
}

TEST(PathModes, ReachTheMoves) {
  const Path path = read("F100\nG61 G1 X1\nG61.1 X2\nG64 P0.05 X3\nG64 X4", at_origin());
  EXPECT_EQ(path.moves[0].corner, CornerMode::exact_path);
  EXPECT_EQ(path.moves[1].corner, CornerMode::exact_stop);
  EXPECT_EQ(path.moves[2].corner, CornerMode::blend);
  EXPECT_EQ(path.moves[2].blend_um, 50);
  EXPECT_EQ(path.moves[3].blend_um, 0);
  EXPECT_TRUE(notes(path, RemarkKind::path_deviation));
}

TEST(Spindle, RunUpIsAStandingMoveWhereItStarts) {
  const auto dwells = [&](const std::string& lines) {
    int n = 0;
    for (const Move& move : read(lines, at_origin()).moves)
      n += move.kind == MoveKind::dwell;
    return n;
  };
  EXPECT_EQ(dwells("S100 M3"), 1);
  EXPECT_EQ(dwells("M3\nS100"), 1);
  EXPECT_EQ(dwells("S100 M3\nM3\nS200"), 1);
  EXPECT_EQ(dwells("S100 M3\nM5\nM3"), 2);
  EXPECT_EQ(dwells("S100 M3\nT1 M6 M3"), 2);
}

// What real files hold beyond the standard: common practice, no source.
TEST(BeyondTheStandard, IsAcceptedWithANote) {
  EXPECT_TRUE(notes(read("G0 X1 ; to the left"), RemarkKind::semicolon_comments));
  EXPECT_TRUE(notes(read("N123456 G0 X1"), RemarkKind::long_block_numbers));
  EXPECT_TRUE(notes(read("O1234 (TRAY)\nG0 X1"), RemarkKind::program_name));
  EXPECT_TRUE(notes(read("(MSG, turn the sheet)\nG0 X1"), RemarkKind::message, ", turn the sheet"));
  EXPECT_TRUE(notes(read("G4 P500"), RemarkKind::long_dwell));
  EXPECT_TRUE(notes(read("G69 G50 G15"), RemarkKind::ended_function));
  EXPECT_TRUE(notes(read("G91.1"), RemarkKind::centres_from_start));
  EXPECT_TRUE(notes(read("F1 G73 X1 R2 Z-1 Q1"), RemarkKind::backs_off));
  EXPECT_TRUE(notes(read("M8"), RemarkKind::coolant));
  EXPECT_TRUE(notes(read("S1 M4"), RemarkKind::anticlockwise));
  EXPECT_TRUE(notes(read("\xEF\xBB\xBFG0 X1"), RemarkKind::byte_order_mark));
  const Path round = read("F100 G2 I5", at_origin());
  EXPECT_TRUE(notes(round, RemarkKind::full_circle));
  EXPECT_NEAR(length_mm(round.moves.back()), 10 * std::acos(-1.0), 1e-9);
  const Path absolute = read("F100\nG0 X10\nG90.1 G2 X20 Y10 I20 J0", at_origin());
  EXPECT_EQ(absolute.moves.back().centre.x, 20);
  EXPECT_EQ(absolute.moves.back().centre.y, 0);
}

TEST(Notes, SayWhatWasAssumed) {
  const Path path = read("G0 X1");
  EXPECT_TRUE(notes(path, RemarkKind::start_assumed, Vec3{0, 0, 20}));
  EXPECT_TRUE(notes(path, RemarkKind::straight_rapids));
  EXPECT_TRUE(notes(path, RemarkKind::first_cutter));
  EXPECT_TRUE(notes(read("T5\nG1 X1 F1"), RemarkKind::tool_not_changed, "T5"));
}
