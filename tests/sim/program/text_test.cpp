// Programs written from a path and read again by the reader.
#include "sim/program/text.hpp"
#include "sim/program/written.hpp"

#include "sim/path/edit.hpp"
#include "sim/program/program.hpp"
#include "sim/scene/scene.hpp"
#include "tests/sim/record_fixture.hpp"

#include <gtest/gtest.h>

#include <cmath>

using namespace snagmap;

namespace {

bool stands(const Move& m) {
  return m.kind == MoveKind::dwell || m.kind == MoveKind::stop || m.kind == MoveKind::tool_change;
}

/// The same ways: half of the last decimal at each end, arcs read on the centre the rounded offsets give.
void expect_same_ways(const Path& written, const Path& read) {
  const double end_mm = written.inch ? 0.5e-5 * 25.4 : 0.5e-4;
  ASSERT_EQ(written.moves.size(), read.moves.size());
  for (std::size_t i = 0; i < written.moves.size(); ++i) {
    const Move &a = written.moves[i], &b = read.moves[i];
    SCOPED_TRACE("move " + std::to_string(i) + " of line " + std::to_string(a.line));
    ASSERT_EQ(a.kind, b.kind);
    EXPECT_EQ(a.tool, b.tool);
    EXPECT_EQ(a.spindle_rpm, b.spindle_rpm);
    if (stands(a)) {
      EXPECT_EQ(a.feed_mm_min, b.feed_mm_min);
      continue;
    }
    EXPECT_EQ(a.corner, b.corner);
    EXPECT_NEAR(a.feed_mm_min, b.feed_mm_min, 1e-5 * a.feed_mm_min);
    // Both ends of an arc and both parts of its centre are rounded: twice the half decimal in each of two
    // axes.
    for (const double share : {0.0, 0.3, 0.5, 0.9, 1.0})
      EXPECT_LE(norm(point_at(a, share) - point_at(b, share)),
                2 * std::sqrt(3.0) * end_mm * (a.kind == MoveKind::arc ? 2 : 1));
  }
}

Path read(const std::string& text, const std::map<int, int>& tools) {
  ProgramOptions options;
  options.tool_index = tools;
  const Outcome<Path> path = parse_program(text, "job.nc", options);
  EXPECT_TRUE(path) << to_text(path.faults().front()) << "\n" << text.substr(0, 2000);
  return path ? *path : Path{};
}

void expect_round_trip(const Path& path, const std::map<int, int>& tools = {}) {
  ProgramOptions options;
  options.tool_index = tools;
  const Outcome<WrittenProgram> written = written_program(path, "job.nc", options, {"a (test) \xe4"});
  ASSERT_TRUE(written) << to_text(written.faults().front());
  expect_same_ways(path, written->path);
}

} // namespace

TEST(ProgramText, EveryKindOfMoveIsReadBackAsItStood) {
  const std::map<int, int> tools{{3, 0}, {7, 1}};
  for (const char* units : {"G21", "G20"})
    expect_round_trip(read(std::string(units) + R"( G90 G17
T3 M6
S18000 M3
G0 Z5
G0 X1.2345 Y-2.5
G1 Z-1 F30
G2 X3.2345 Y-2.5 I1 J0 F70.5
G3 X3.2345 Y-2.5 Z-1.5 I-0.5 J0.25
G18 G2 X4.2345 Z-1.5 I0.5 K0
G19 G3 Y-1.5 Z-1.5 J0.5 K0
G4 P0.25
G61 G1 X2
G64 P0.05 X1 Y1
M0
G0 Z5
M5
T7 M6
S9000 M3
G17 G1 Z-2 F100
G0 Z5
M5
M30
)",
                           tools),
                      tools);
}

TEST(ProgramText, ReadersOfOneTurnALineGetTheHelixInTurns) {
  Path path = read("G21 G90 G17\nS1000 M3\nG0 X10 Y0 Z1\nG2 X10 Y0 Z0 I-5 J0 F500\nM30\n", {});
  Move& helix = path.moves.back();
  ASSERT_EQ(helix.kind, MoveKind::arc);
  helix.to = {5, 5, -2.75}; // three quarters of a turn beyond two whole ones
  helix.turn_rad = static_cast<float>(-1.5 * 3.14159265358979);
  helix.full_turns = 2;
  const Path again = read(program_text(path, {}).text, {});
  double length = 0;
  std::size_t arcs = 0;
  for (const Move& move : again.moves)
    if (move.kind == MoveKind::arc)
      length += length_mm(move), ++arcs;
  EXPECT_EQ(arcs, 3u);
  EXPECT_NEAR(length, std::hypot(2.75 * 2 * 3.14159265358979 * 5, 3.75), 1e-3);
}

TEST(ProgramText, AnArcShorterThanTheLastDecimalDoesNotBecomeAWholeTurn) {
  Path path = read("G21 G90 G17\nS1000 M3\nG0 X10 Y0 Z1\nG2 X5 Y5 I-5 J0 F500\nM30\n", {});
  Move& arc = path.moves.back();
  arc.to = point_at(arc, 1e-7);
  arc.turn_rad = static_cast<float>(-1e-7);
  for (const Move& move : read(program_text(path, {}).text, {}).moves)
    EXPECT_NE(move.kind, MoveKind::arc);
}

TEST(ProgramText, ADemoProgramAndItsRewritingsAreReadBack) {
  const Outcome<Scene> scene = read_scene(SNAGMAP_ROOT "/scenes/bicycle-case/scene.toml");
  ASSERT_TRUE(scene);
  const Outcome<Path> path = read_program(scene->program_file, {});
  ASSERT_TRUE(path);
  expect_round_trip(*path);
  expect_round_trip(*with_loops_reversed(*path, scene->sheet.high.z));
  expect_round_trip(with_lifts(*path, scene->sheet.high.z, {{200, 0.5}, {900, 0.25}}));
}

TEST(ProgramText, NumbersHaveNoMinusBeforeZeroAndCommentsNoBrackets) {
  EXPECT_EQ(nc_number(-1e-9, false), "0.0000");
  EXPECT_EQ(nc_number(25.4, true), "1.00000");
  EXPECT_EQ(nc_comment("a (b) \xc3\xa4"), "(a [b] ?)");
}
