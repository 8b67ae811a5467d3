// Programs written from a path and read again by the reader.
#include "sim/program/text.hpp"
#include "sim/program/written.hpp"

#include "sim/path/edit.hpp"
#include "sim/program/program.hpp"
#include "sim/scene/scene.hpp"
#include "tests/sim/record_fixture.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
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

TEST(ProgramText, NumbersHaveNoMinusBeforeZero) {
  EXPECT_EQ(nc_number(-1e-9, false), "0.0000");
  EXPECT_EQ(nc_number(25.4, true), "1.00000");
}

// RS274/NGC: a comment begins with '(' and ends with the next ')'; control characters and brackets within are
// forbidden, and "(MSG," is an order (NISTIR 6556, section 3.3.3, from memory). Some controls end a line at a
// carriage return, and a tape at '%' (common practice, no source).
TEST(ProgramText, NoNameCanEndAComment) {
  for (int byte = 0; byte < 256; ++byte) {
    const std::string name = std::string("cutter") + static_cast<char>(byte) + "G0 Z-200";
    const std::string comment = nc_comment(name);
    EXPECT_EQ(comment.front(), '(');
    EXPECT_EQ(comment.back(), ')');
    for (const char c : comment.substr(1, comment.size() - 2))
      EXPECT_TRUE(c >= ' ' && c <= '~' && c != '(' && c != ')' && c != '%') << byte;
  }
  EXPECT_EQ(nc_comment("a (b) \xc3\xa4 \xe2\x82\xac \xf0\x9f\xa7\xbd"),
            "(a [b] ? ? ?)"); // one for each character
  EXPECT_EQ(nc_comment("MSG, go on"), "(MSG; go on)");
  EXPECT_EQ(nc_comment(" logopen,/tmp/x"), "( logopen;/tmp/x)");
  EXPECT_EQ(nc_comment("M S G,a"), "(M S G;a)");
  EXPECT_EQ(nc_comment("a prediction, not a promise"), "(a prediction, not a promise)");
  EXPECT_EQ(nc_comment("50 % of it"), "(50 percent of it)");
}

TEST(ProgramText, LongWordsAreWrappedUnderEightyCharacters) {
  std::string words;
  for (int k = 0; k < 60; ++k)
    words += "word" + std::to_string(k) + " ";
  std::string joined;
  for (const std::string& line : nc_comments(words + std::string(300, 'x'))) {
    EXPECT_LT(line.size(), 80u);
    joined += line.substr(1, line.size() - 2);
  }
  for (int k = 0; k < 60; ++k)
    EXPECT_NE(joined.find("word" + std::to_string(k)), std::string::npos);
  EXPECT_EQ(std::count(joined.begin(), joined.end(), 'x'), 300);
}

namespace {
WrittenProgram again(const std::string& text, const ProgramOptions& how) {
  const Outcome<Path> path = parse_program(text, "job.nc", how);
  EXPECT_TRUE(path) << to_text(path.faults().front());
  const Outcome<WrittenProgram> written = written_program(*path, "again.nc", how, {});
  EXPECT_TRUE(written) << to_text(written.faults().front());
  return *written;
}
bool has_line(const std::string& text, const std::string& line) {
  return ("\n" + text).find("\n" + line + "\n") != std::string::npos;
}
} // namespace

TEST(WrittenProgram, SaysTheWordsOfItsSourceAgain) {
  ProgramOptions how;
  how.tool_index = {{3, 0}, {7, 1}};
  const std::string text =
      again(
          "G20 G90 G17\nG55\nG61\nT3 M6\nG43 H3\nS18000 M4\nM8\nG0 Z0.2\nG0 X1 Y1\nG1 Z-0.1 F30\nG64 P0.005\n"
          "G1 X2\nG0 Z0.2\nM9\nT7 M6\nG43 H7\nS9000 M3\nM7\nG0 X0\nG1 Z-0.1\nG0 Z0.2\nG49\nG0 Z1\nM5\nM30\n",
          how)
          .text;
  for (const char* line : {"G20 G90 G17 G94", "G55", "G61", "T3 M6", "G43 H3", "S18000 M4", "M8",
                           "G64 P0.00500", "M9", "T7 M6", "G43 H7", "S9000 M3", "M7", "G49", "M5", "M30"})
    EXPECT_TRUE(has_line(text, line)) << line << "\n" << text;
}

TEST(WrittenProgram, WritesInTheWorkSystemOfItsSource) {
  ProgramOptions how;
  how.work_origin_mm[2] = {150, 20, -3};
  const WrittenProgram written = again("G21 G90\nG55\nS1000 M3\nG0 Z5\nG0 X10 Y4\nG1 Z-1 F300\nM30\n", how);
  EXPECT_TRUE(has_line(written.text, "G55"));
  EXPECT_TRUE(has_line(written.text, "G0 X10.0000 Y4.0000")) << written.text;
  EXPECT_EQ(written.path.moves.back().to.x, 160); // in the sheet's coordinates
}

TEST(WrittenProgram, WritesAFeedInInchesAsItStood) {
  EXPECT_TRUE(has_line(again("G20 G90\nS1000 M3\nG0 Z1\nG1 X9 F59.1\nG1 Y9 F0.5\nG1 X0 F300\nM30\n", {}).text,
                       "G1 X9.00000 F59.1"));
}

TEST(WrittenProgram, NamesTheToolThatNoChangeFetches) {
  EXPECT_TRUE(has_line(again("G21 G90\nT5\nS1000 M3\nG0 Z5\nG1 X9 F100\nM30\n", {}).text, "T5"));
}

// The tip may stand elsewhere than assumed: X0 Y0 must be said although here it moves nothing, and Z before
// it.
TEST(WrittenProgram, NamesAnAxisBeforeItIsNeededAlthoughItMovesNothing) {
  const std::string text = again("G21 G90\nS1000 M3\nG0 Z5\nG0 X0 Y0\nG1 Z-1 F300\nG1 X5\nM30\n", {}).text;
  const std::size_t z = text.find("G0 Z5.0000\n"), xy = text.find("G0 X0.0000 Y0.0000\n"),
                    cut = text.find("G1 Z-1.0000");
  ASSERT_NE(z, std::string::npos) << text;
  ASSERT_NE(xy, std::string::npos) << text;
  EXPECT_LT(z, xy);
  EXPECT_LT(xy, cut);
}

TEST(WrittenProgram, SaysWhatItDoesNotCarry) {
  ProgramOptions how;
  how.machine_zero_mm = Vec3{-100, -50, 80};
  const WrittenProgram written = again(
      "G21 G90\nG10 L2 P1 X100 Y50 Z-80\nG92 X1 Y1\nS1000 M3\nG0 Z5\nG1 X9 F100\nM1\nG53 G0 Z0\nG28\nM48\n"
      "G84 X1 Y1 R2 Z-1 F100\nM30\n",
      how);
  for (const char* word : {"line 2: G10", "line 3: G92", "line 7: M1", "line 8: G53", "line 9: G28",
                           "line 10: M48", "line 11: G84"}) {
    bool told = false;
    for (const note::Remark& one : written.restore)
      told = told || fmt::format("line {}: {}", one.line, one.words.at(0)).rfind(word, 0) == 0;
    EXPECT_TRUE(told) << word;
    EXPECT_NE(written.text.find(word), std::string::npos) << word << "\n" << written.text;
  }
  const WrittenProgram plain = again("G21 G90\nG54\nS1000 M3\nG0 Z5\nG1 X9 F100\nM30\n", {});
  EXPECT_TRUE(plain.restore.empty());
}

// An upright arc of radius 6 that was lifted without its centre: the reader refuses it, and so no file may
// come.
TEST(WrittenProgram, APathThatNoProgramSaysIsNotWritten) {
  Path path = read("G21 G90 G17\nS1000 M3\nG0 Z5\nG1 Z-6 F300\nG18 G2 X12 Z-6 I6 K0\nM30\n", {});
  for (Move& move : path.moves)
    if (move.kind == MoveKind::arc)
      move.from.z += 3, move.to.z += 3;
  EXPECT_FALSE(written_program(path, "a.nc", {}, {}));
  Path no_tool = read("G21 G90 G17\nT1 M6\nS1000 M3\nG0 Z5\nG1 Z-6 F300\nM30\n", {});
  no_tool.moves.back().tool_number = 2; // without a change
  EXPECT_FALSE(written_program(no_tool, "a.nc", {}, {}));
}
