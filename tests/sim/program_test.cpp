// Reading programs: whole worked programs, order of doing, and what each code must do.
#include "sim/motion.hpp"
#include "sim/program.hpp"

#include <gtest/gtest.h>

#include <cmath>

using namespace snagmap;

namespace {

std::string told(const Outcome<Path>& path) {
  return path ? "" : to_text(path.faults().front());
}

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
  const auto path = parse_program(text, "n1.nc", options);
  ASSERT_FALSE(path);
  EXPECT_EQ(path.faults().size(), 1u);
  EXPECT_EQ(path.faults().front().line, 9);
  EXPECT_NE(path.faults().front().what.find("mismatch 0.009995 mm"), std::string::npos) << told(path);
}

namespace {

Path read(const std::string& lines, ProgramOptions options = {}) {
  const auto path = parse_program(lines + "\nM30\n", "t.nc", options);
  EXPECT_TRUE(path) << told(path);
  return path ? *path : Path{};
}
ProgramOptions at_origin() {
  ProgramOptions options;
  options.start_mm = {0, 0, 0};
  return options;
}
/// X of the last place when the program ends.
Vec3 last(const std::string& lines, const ProgramOptions& options = at_origin()) {
  const Path path = read(lines, options);
  return path.moves.empty() ? options.start_mm : path.moves.back().to;
}
void expect_at(Vec3 p, double x, double y, double z) {
  EXPECT_NEAR(p.x, x, 1e-12);
  EXPECT_NEAR(p.y, y, 1e-12);
  EXPECT_NEAR(p.z, z, 1e-12);
}
bool notes(const Path& path, const std::string& part) {
  for (const std::string& note : path.notes)
    if (note.find(part) != std::string::npos)
      return true;
  return false;
}
std::vector<double> bottoms(const Path& path) { // heights at the end of each feed move down
  std::vector<double> heights;
  for (const Move& move : path.moves)
    if (move.kind == MoveKind::line && move.to.z < move.from.z)
      heights.push_back(move.to.z);
  return heights;
}

} // namespace

// Rules of this file: NIST RS274/NGC version 3 (NISTIR 6556) and ISO 6983-1, from memory.

struct Expression {
  const char* text;
  double value;
};
class ExpressionValue : public ::testing::TestWithParam<Expression> {};
TEST_P(ExpressionValue, IsThatByHand) {
  EXPECT_NEAR(last(std::string("G0 X") + GetParam().text).x, GetParam().value, 1e-9) << GetParam().text;
}
INSTANTIATE_TEST_SUITE_P(
    ByHand, ExpressionValue,
    ::testing::Values(Expression{"[1+2*3]", 7}, Expression{"[2**3**2]", 64}, Expression{"[-5 MOD 3]", 1},
                      Expression{"FIX[-2.8]", -3}, Expression{"FUP[-2.8]", -2},
                      Expression{"ATAN[1]/[-1]", 135}, Expression{"[1+ACOS[0]-[2**[4.0/2]]]", 87},
                      Expression{"[10-4-3]", 3}, Expression{"[16/4/2]", 2}, Expression{"[2*3**2]", 18},
                      Expression{"[7 MOD 4*2]", 6}, Expression{"[1 AND 0 OR 1]", 1},
                      Expression{"[1 XOR 1]", 0}, Expression{"[3 XOR 0]", 1}, Expression{"ABS[-2.5]", 2.5},
                      Expression{"ASIN[0.5]", 30}, Expression{"COS[60]", 0.5}, Expression{"SIN[30]", 0.5},
                      Expression{"TAN[45]", 1}, Expression{"EXP[1]", 2.718281828459045},
                      Expression{"LN[10]", 2.302585092994046}, Expression{"ROUND[2.5]", 3},
                      Expression{"ROUND[-2.5]", -3}, Expression{"SQRT[2]", 1.4142135623730951},
                      Expression{"[s q r t [ 1 6 ] ]", 4}, Expression{"[[1+2]*[3+4]]", 21},
                      Expression{"[2*-3]", -6}));

TEST(Numbers, BlanksCountForNothingAndLettersHaveAnyCase) {
  expect_at(last("g0x +0. 12 34y 7"), 0.1234, 7, 0);
  expect_at(last("G 0 1 \t X 1 0 Z-\t.5 f 1 0 0"), 10, 0, -0.5);
  expect_at(last("G0 X5. Y.25 Z+00012.500"), 5, 0.25, 12.5);
}

TEST(Numbers, AreThoseTheCLibraryReads) {
  for (const char* text : {"0.1", "123.456", "99999.9999", "0.00000000012345",
                           "1234567890123456789012345678901234e", "3.14159265358979323846264338327950288"}) {
    std::string number = text;
    if (number.back() == 'e')
      continue; // whole part beyond 1 km is refused elsewhere
    const double c = std::strtod(text, nullptr);
    EXPECT_NEAR(last("G0 X" + number).x, c, 2e-16 * std::abs(c)) << text;
  }
}

TEST(Parameters, SettingsTakeEffectAfterTheWholeLine) {
  EXPECT_EQ(last("#3=15\n#3=6 G0 X#3").x, 15);
  EXPECT_EQ(last("#3=15\n#3=6 G0 X#3\nX#3").x, 6);
  EXPECT_EQ(last("#1=2 #2=7\nG0 X##1").x, 7);
  EXPECT_EQ(last("#1=5\n#[#1+1]=9\nG0 X#6").x, 9);
}

TEST(BlockDelete, SkipsOnlyWhenTheSwitchIsOn) {
  ProgramOptions options = at_origin();
  EXPECT_EQ(last("G0 X1\n/ X2", options).x, 2);
  options.block_delete = true;
  EXPECT_EQ(last("G0 X1\n/ X2 &&&", options).x, 1);
  EXPECT_TRUE(notes(read("/ M0", options), "skipped"));
}

TEST(Percent, SecondSignEndsTheFileAndTheRestIsIgnored) {
  const auto path = parse_program("\n %\nG0 X1\n%\n&&& not read\n", "t.nc", at_origin());
  ASSERT_TRUE(path) << told(path);
  EXPECT_EQ(path->moves.back().to.x, 1);
}

TEST(Percent, TextAfterTheEndIsNotReadAndNoted) {
  const auto path = parse_program("G0 X1\nM30\nG0 X2 &&&\n", "t.nc", at_origin());
  ASSERT_TRUE(path);
  EXPECT_EQ(path->moves.size(), 1u);
  EXPECT_TRUE(notes(*path, "line 3: text after the end"));
}

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
  EXPECT_TRUE(notes(path, "read in the units before"));
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
  EXPECT_TRUE(notes(read("G0 X1"), "millimetres are assumed"));
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

TEST(WorkOffsets, G10AndG54ToG593MoveTheOrigin) {
  ProgramOptions options = at_origin();
  options.machine_zero_mm = Vec3{0, 0, 0};
  expect_at(last("G10 L2 P2 X10 Y20 Z30\nG55 G0 X1 Y1 Z1", options), 11, 21, 31);
  expect_at(last("G10 L2 P9 X-1\nG59.3 G0 X1 Y1 Z1", options), 0, 1, 1);
  expect_at(last("G54\nG10 L2 P1 X5\nG0 X0 Y0", options), 5, 0, 0); // the system in force moves at once
  expect_at(last("G10 L2 P3 X7\nG56\nG0 X#5261 Y#5220", options), 14, 3, 0);
  options.work_origin_mm[4] = {40, 0, 0};
  expect_at(last("G57 G0 X1", options), 41, 0, 0);
  EXPECT_TRUE(notes(read("G10 L2 P2 X1", options), "the sheet stays where it is"));
}

TEST(WorkOffsets, FirstSystemUsedIsTheSheets) {
  expect_at(last("G55\nG0 X1"), 1, 0, 0);
  EXPECT_TRUE(notes(read("G55\nG0 X1"), "its origin is the sheet's zero"));
}

TEST(MachineCoordinates, G53PassesOverAllOffsetsForOneLine) {
  ProgramOptions options = at_origin();
  options.machine_zero_mm = Vec3{-100, -50, 80};
  expect_at(last("G92 X7\nG91 G53 G0 X110 Z-5", options), 10, 0, 75);
  expect_at(last("G0 X1\nG53 X110\nX3", options), 3, 0, 0);
  EXPECT_TRUE(notes(read("G53 G0 Z0"), "machine's zero is not given"));
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
  expect_at(last("#5181=1 #5182=2 #5183=3\nG30", options), 1, 2, 3); // machine's zero at the start place
  EXPECT_TRUE(notes(read("G28 Z0"), "home is not given"));
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

TEST(PathModes, ReachTheMoves) {
  const Path path = read("F100\nG61 G1 X1\nG61.1 X2\nG64 P0.05 X3\nG64 X4", at_origin());
  EXPECT_EQ(path.moves[0].corner, CornerMode::exact_path);
  EXPECT_EQ(path.moves[1].corner, CornerMode::exact_stop);
  EXPECT_EQ(path.moves[2].corner, CornerMode::blend);
  EXPECT_EQ(path.moves[2].blend_um, 50);
  EXPECT_EQ(path.moves[3].blend_um, 0);
  EXPECT_TRUE(notes(path, "G64 P is no part of the standard"));
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
  EXPECT_TRUE(notes(read("G0 X1 ; to the left"), "';' comments"));
  EXPECT_TRUE(notes(read("N123456 G0 X1"), "more than 5 digits"));
  EXPECT_TRUE(notes(read("O1234 (TRAY)\nG0 X1"), "O names the program"));
  EXPECT_TRUE(notes(read("(MSG, turn the sheet)\nG0 X1"), "message, turn the sheet"));
  EXPECT_TRUE(notes(read("G4 P500"), "some controls mean milliseconds"));
  EXPECT_TRUE(notes(read("G69 G50 G15"), "ends a function"));
  EXPECT_TRUE(notes(read("G91.1"), "G91.1"));
  EXPECT_TRUE(notes(read("F1 G73 X1 R2 Z-1 Q1"), "backs off"));
  EXPECT_TRUE(notes(read("M8"), "coolant"));
  EXPECT_TRUE(notes(read("S1 M4"), "anticlockwise"));
  EXPECT_TRUE(notes(read("\xEF\xBB\xBFG0 X1"), "byte order mark"));
  const Path round = read("F100 G2 I5", at_origin());
  EXPECT_TRUE(notes(round, "full circle"));
  EXPECT_NEAR(length_mm(round.moves.back()), 10 * std::acos(-1.0), 1e-9);
  const Path absolute = read("F100\nG0 X10\nG90.1 G2 X20 Y10 I20 J0", at_origin());
  EXPECT_EQ(absolute.moves.back().centre.x, 20);
  EXPECT_EQ(absolute.moves.back().centre.y, 0);
}

TEST(Notes, SayWhatWasAssumed) {
  const Path path = read("G0 X1");
  EXPECT_TRUE(notes(path, "start at X0 Y0 Z20"));
  EXPECT_TRUE(notes(path, "straight lines"));
  EXPECT_TRUE(notes(path, "the first cutter is assumed"));
  EXPECT_TRUE(notes(read("T5\nG1 X1 F1"), "T5 is picked, but no M6"));
  EXPECT_TRUE(notes(read("G1 X1 F1"), "while the spindle stands"));
}
