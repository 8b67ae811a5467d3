// G92 in a program whose start is not given: people set the tip down and name the place, so the first G92
// places the zero (common practice on hobby controls, no source).
#include "sim/path/path.hpp"
#include "tests/sim/program_read.hpp"

namespace snagmap {
namespace {

ProgramOptions unknown() {
  ProgramOptions options;
  options.start_assumed = true;
  return options;
}

TEST(TouchOff, TheFirstG92PlacesTheZeroWhereTheTipStands) {
  const Path path = read("G92 X0 Y0 Z0\nG0 Z5\nG0 X10\nG1 Z-3 F100", unknown());
  expect_at(path.start_mm, 0, 0, 0);
  EXPECT_EQ(path.touch_off_line, 1);
  expect_at(path.moves.front().from, 0, 0, 0);
  expect_at(path.moves.back().to, 10, 0, -3); // 3 mm deep, not 17 mm up in the air
  EXPECT_TRUE(notes(path, RemarkKind::touched_off, "G92"));
  EXPECT_TRUE(notes(path, RemarkKind::start_assumed, Vec3{0, 0, 0}));
}

TEST(TouchOff, OnAPlateTheNumberIsThePlatesHeight) {
  const Path path = read("G92 Z12.5\nG0 X1 Y1\nG1 Z-3 F100", unknown());
  expect_at(path.start_mm, 0, 0, 12.5); // X and Y as assumed: nothing named them
  expect_at(path.moves.back().to, 1, 1, -3);
  expect_at(read("G20 G92 Z0.5\nG0 Z1", unknown()).moves.back().to, 0, 0, 25.4); // 1 inch is 25.4 mm
}

TEST(TouchOff, AGivenStartWins) {
  ProgramOptions options;
  options.start_mm = {0, 0, 20};
  const Path path = read("G92 X0 Y0 Z0\nG0 Z5", options);
  expect_at(path.moves.back().to, 0, 0, 25);
  EXPECT_EQ(path.touch_off_line, 0);
  EXPECT_FALSE(notes(path, RemarkKind::touched_off));
}

TEST(TouchOff, AfterAbsoluteWordsG92ShiftsTheNumbersAsEver) {
  // The program has said where the tip is: G92 then steps to the next part.
  const Path path = read("G0 X100 Y50 Z5\nG92 X0\nG1 X10 F100", unknown());
  expect_at(path.moves.back().to, 110, 50, 5);
  EXPECT_EQ(path.touch_off_line, 0);
}

TEST(TouchOff, AxesAreTakenOneByOne) {
  // Z is known from an absolute move, X and Y are not: these are placed, Z is shifted.
  const Path path = read("G0 Z5\nG92 X0 Y0 Z0\nG0 X1 Y1 Z1", unknown());
  expect_at(path.moves.back().to, 1, 1, 6);
  EXPECT_TRUE(notes(path, RemarkKind::touched_off));
  EXPECT_TRUE(notes(path, RemarkKind::place_named, "G92"));
}

TEST(TouchOff, StepsBeforeItMoveWithIt) {
  // Up 5, over 10 by steps, then the place is named: the steps ended there.
  const Path path = read("G91 F100\nG0 Z5\nG2 X10 Y0 I5 J0\nG90\nG92 X0 Y0 Z2\nG0 Z0", unknown());
  ASSERT_EQ(path.moves.size(), 3u);
  expect_at(path.start_mm, -10, 0, -3);
  expect_at(path.moves[0].from, -10, 0, -3);
  expect_at(path.moves[1].from, -10, 0, 2);
  expect_at(path.moves[1].to, 0, 0, 2);
  EXPECT_NEAR(path.moves[1].centre.x, -5, 1e-12);
  EXPECT_NEAR(path.moves[1].centre.y, 0, 1e-12);
  expect_at(path.moves[2].to, 0, 0, 0);
  for (std::size_t i = 0; i + 1 < path.moves.size(); ++i)
    expect_at(path.moves[i].to, path.moves[i + 1].from.x, path.moves[i + 1].from.y, path.moves[i + 1].from.z);
  // An arc in G18 has its centre in Z and X.
  const Path upright = read("G18 G91 F100\nG2 X10 Z0 I5 K0\nG90\nG92 X0 Z0", unknown());
  EXPECT_NEAR(upright.moves[0].centre.x, 0, 1e-12);
  EXPECT_NEAR(upright.moves[0].centre.y, -5, 1e-12);
}

TEST(TouchOff, TakingG92BackKeepsTheZeroAndSaysSo) {
  for (const char* code : {"G92.1", "G92.2"}) {
    const Path path = read(std::string("G92 X0 Y0 Z0\nG0 Z5\n") + code + "\nG0 Z3\nG92.3\nG0 Z4", unknown());
    expect_at(path.moves.back().to, 0, 0, 4);
    EXPECT_TRUE(notes(path, RemarkKind::zero_stays, "1")) << code;
  }
  EXPECT_FALSE(notes(read("G92.1\nG92 X0 Y0 Z0\nG0 Z5", unknown()), RemarkKind::zero_stays));
  expect_at(read("G92 X0 Y0 Z0\nG0 X5\nG92 X0\nX1\nG92.1\nX1", unknown()).moves.back().to, 1, 0, 0);
}

} // namespace
} // namespace snagmap
