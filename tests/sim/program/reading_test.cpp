// What people's programs hold that the standard does not: read, each with its note. Which controller runs it
// stands beside each: LinuxCNC (User Manual, G-code; rs274 2.9), GRBL 1.1 (gcode.c, protocol.c), or
// 'practice'.
#include "tests/sim/program_read.hpp"

#include <fmt/format.h>

#include <cmath>

using namespace snagmap;

namespace {

ProgramOptions as(Dialect dialect) {
  ProgramOptions options = at_origin();
  options.dialect = dialect;
  return options;
}
Outcome<Path> raw(const std::string& text, const ProgramOptions& options = at_origin()) {
  return parse_program(text, "t.nc", options);
}
std::string fault_of(const std::string& text, const ProgramOptions& options = at_origin()) {
  const auto path = raw(text, options);
  return path ? "(accepted)" : path.faults().front().what;
}
bool contains(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

} // namespace

// GRBL streams a file to its end; LinuxCNC asks for M2, M30 or '%' (User Manual, G-code Overview, File
// Requirements).
TEST(Reading, AProgramWithoutItsEndIsReadWhereTheTipIsClearOfTheSheet) {
  const auto path = raw("G0 Z5\nG1 Z-2 F100\nX10\nG0 Z5\n");
  ASSERT_TRUE(path) << told(path);
  EXPECT_TRUE(notes(*path, RemarkKind::no_end));
  EXPECT_TRUE(contains(fault_of("G0 Z5\nG1 Z-2 F100\nX10\n"), "the tip is left at Z-2 mm, in the sheet"));
  EXPECT_TRUE(contains(fault_of("%\nG0 Z5\nG1 Z-2 F100\nX10\n"), "in the sheet"));
  EXPECT_TRUE(raw("%\nG0 Z5\nG1 Z-2 F100\nG0 Z1\n"));
  EXPECT_TRUE(contains(fault_of("G0 Z5\n", as(Dialect::linuxcnc)), "does not end"));
  EXPECT_TRUE(raw("%\nG0 Z5\nM5\n%\n", as(Dialect::linuxcnc)));
}

TEST(Reading, WhereTheSheetsTopLiesDecidesWhatIsCutShort) {
  ProgramOptions options = at_origin();
  options.sheet_top_mm = 30; // zero on the table
  EXPECT_TRUE(contains(fault_of("G0 Z40\nG1 Z12 F100\n", options), "left at Z12 mm"));
  EXPECT_TRUE(raw("G0 Z40\nG1 Z12 F100\nG0 Z40\n", options));
}

TEST(Reading, AMotionWordAloneSetsTheMotion) { // LinuxCNC and GRBL
  const Path path = read("G1 F200\nX3\nG0\nX5");
  ASSERT_EQ(path.moves.size(), 2u);
  EXPECT_EQ(path.moves[0].kind, MoveKind::line);
  EXPECT_EQ(path.moves[0].feed_mm_min, 200);
  EXPECT_EQ(path.moves[1].kind, MoveKind::rapid);
  EXPECT_TRUE(notes(path, RemarkKind::motion_without_axes, "G1"));
}

TEST(Reading, TheOnlyCutterIsMeantWhateverTheProgramCallsIt) { // practice
  for (const auto& [lines, about] : {std::pair("T0 M6\nG1 X1 F100", RemarkKind::empty_spindle),
                                     std::pair("M6\nG1 X1 F100", RemarkKind::change_without_tool),
                                     std::pair("T1 M6\nG1 X1 F100\nT7 M6\nX2", RemarkKind::second_tool)}) {
    const Path path = read(lines);
    ASSERT_FALSE(path.moves.empty()) << lines;
    EXPECT_EQ(path.moves.back().tool, 0) << lines;
    EXPECT_TRUE(notes(path, about)) << lines;
  }
  ProgramOptions two = at_origin();
  two.tool_index = {{1, 0}, {2, 1}};
  EXPECT_TRUE(contains(fault_of("T0 M6\nG1 X1 F100\nM2\n", two), "T0 M6 has emptied the spindle"));
}

TEST(Reading, AnOffsetOfZeroOffThePlaneIsPassedOver) { // practice; GRBL passes over any (gcode.c, step 3)
  const Path path = read("F100 G2 X10 I5 J0 K0");
  ASSERT_EQ(path.moves.size(), 1u);
  EXPECT_TRUE(notes(path, RemarkKind::zero_off_the_plane, "K"));
  EXPECT_TRUE(contains(fault_of("F100 G2 X10 I5 K1\nM2\n"), "K on G17 (X Y) arcs"));
  EXPECT_TRUE(raw("F100 G2 X10 I5 K1\nM2\n", as(Dialect::grbl)));
}

TEST(Reading, AnAxisThatStaysAtZeroIsPassedOver) { // LinuxCNC
  expect_at(last("G0 A0. X2\nG1 B0 C0.0 Y1 F100"), 2, 1, 0);
  EXPECT_TRUE(contains(fault_of("G0 A90\nM2\n"), "A word"));
}

TEST(Reading, G80BesideAMotionIsASafetyLine) { // LinuxCNC
  expect_at(last("G0 G40 G49 G80 X2\nG80 G1 Y1 F100\nX3"), 3, 1, 0);
  expect_at(last("F100 G81 X1 Z-1 R1\nG80 G0 X4\nZ9"), 4, 0, 9);
}

TEST(Reading, AxesAfterG80MoveAsBeforeTheCycle) { // practice; LinuxCNC and GRBL refuse
  const std::string text = "G0 Z5\nF100 G81 X1 Z-1 R1\nG80\nX3\nM2\n";
  const auto path = raw(text);
  ASSERT_TRUE(path) << told(path);
  EXPECT_EQ(path->moves.back().kind, MoveKind::rapid);
  expect_at(path->moves.back().to, 3, 0, 1); // G99 is where LinuxCNC begins (rs274 2.9)
  EXPECT_TRUE(notes(*path, RemarkKind::axes_after_cycle, "G0"));
  for (const Dialect dialect : {Dialect::linuxcnc, Dialect::grbl})
    EXPECT_TRUE(contains(fault_of(text, as(dialect)), "axis words under G80"));
}

TEST(Reading, GrblBeginsInG0AndLinuxcncInNone) { // GRBL gc_init; rs274 refuses
  const auto path = raw("X3\nM2\n");
  ASSERT_TRUE(path) << told(path);
  EXPECT_EQ(path->moves[0].kind, MoveKind::rapid);
  EXPECT_TRUE(notes(*path, RemarkKind::motion_at_start));
  EXPECT_TRUE(contains(fault_of("X3\nM2\n", as(Dialect::linuxcnc)), "before any motion code"));
}

TEST(Reading, G43WithoutHTakesTheToolInTheSpindle) { // LinuxCNC, G43
  expect_at(last("T1 M6\nG43\nG0 Z7"), 0, 0, 7);
}

TEST(Reading, G64TakesItsNaiveTolerance) { // LinuxCNC, G64
  const Path path = read("G64 P0.1 Q0.05\nG1 X1 F100");
  EXPECT_EQ(path.moves[0].blend_um, 100);
  EXPECT_TRUE(notes(path, RemarkKind::joined_moves));
}

TEST(Reading, AnAxisLetterAloneWithG28GoesHomeStraight) { // practice
  ProgramOptions options = at_origin();
  options.home_mm = Vec3{100, 50, 40};
  expect_at(last("G0 X1 Y2 Z3\nG28 Z", options), 1, 2, 40);
  expect_at(last("G0 X1 Y2 Z3\nG91 G28 X Y\nG90", options), 100, 50, 3);
  EXPECT_TRUE(contains(fault_of("G0 Z\nM2\n"), "Z without a number"));
}

TEST(Reading, LinesOfASenderArePassedOver) { // GRBL, interface: $ and ? are not G-code
  const Path path = read("$X\n$H\n?\nG0 X1");
  EXPECT_EQ(path.moves.size(), 1u);
  EXPECT_TRUE(notes(path, RemarkKind::homes_first));
  EXPECT_TRUE(contains(fault_of("$J=G91 X10 F100\nM2\n"), "$J moves the machine"));
}

TEST(Reading, OutputsAndTheOwnersCodesMoveNothing) { // LinuxCNC, M62 to M68, M100 to M199
  const Path path = read("M64 P1\nM100 P2 Q3\nM101\nG0 X1\nM65 P1 M199");
  EXPECT_EQ(path.moves.size(), 1u);
  EXPECT_TRUE(notes(path, RemarkKind::output_code, "M64"));
}

TEST(Reading, EveryLineEndEndsALine) {
  for (const char* text :
       {"G0 X1\nG0 Y2\nM2\n", "G0 X1\r\nG0 Y2\r\nM2\r\n", "G0 X1\rG0 Y2\rM2\r", "G0 X1\r\nG0 Y2\rM2"}) {
    const auto path = raw(text);
    ASSERT_TRUE(path) << told(path);
    ASSERT_EQ(path->moves.size(), 2u);
    EXPECT_EQ(path->moves[1].line, 2);
  }
  EXPECT_EQ(raw("G0 X1\rG0 Y1 Y2\rM2\r").faults().front().line, 2);
}

TEST(Reading, CommentsThatTheLineEnds) { // GRBL, protocol.c; LinuxCNC refuses
  EXPECT_TRUE(notes(read("G0 X1 (open\nG0 X2"), RemarkKind::open_comment));
  EXPECT_TRUE(contains(fault_of("G0 X1 (open\nM2\n", as(Dialect::linuxcnc)), "comment is not closed"));
  EXPECT_TRUE(raw("G0 X1 (" + std::string(400, 'x') + ")\nM2\n"));
}

// Machine coordinates that the program sets itself: before any move, the origin of the system in force is the
// sheet's zero, and so the machine's zero is known (LinuxCNC, G10 L2).
TEST(Reading, G10BeforeAnyMoveTellsWhereTheMachinesZeroIs) {
  expect_at(last("G10 L2 P1 X100 Y50 Z-20\nG54\nG0 X1 Y2 Z3"), 1, 2, 3);
  expect_at(last("G10 L2 P1 X100 Y50 Z-20\nG0 X1\nG53 G0 X100 Y50 Z-20"), 0, 0, 0);
  expect_at(last("G10 L2 P1 X100 Y0 Z0\nG10 L2 P2 X130 Y10 Z0\nG0 X1\nG55 G0 X0 Y0"), 30, 10, 0);
}

TEST(Reading, G95IsTheFeedOfATurn) { // LinuxCNC, G95
  EXPECT_EQ(read("G95 S1000 M3\nG1 X1 F0.2").moves.back().feed_mm_min, 200);
  EXPECT_TRUE(contains(fault_of("G95 G1 X1 F0.2\nM2\n"), "while the spindle stands"));
}

// Measured with rs274 2.9: 0.02828 mm or a thousandth of the radius; GRBL 0.005 mm or a thousandth, at most
// 0.5 mm.
TEST(Reading, ArcsEndOffTheirCircleByWhatControllersAccept) {
  const auto arc = [](double radius, double off) {
    return fmt::format("F100\nG2 X{:.4f} I{:.4f}\nM2\n", 2 * radius + off, radius);
  };
  struct Case {
    Dialect dialect;
    double radius, accepted, refused;
  };
  for (const Case& c : {Case{Dialect::linuxcnc, 5, 0.0282, 0.0284},
                        {Dialect::linuxcnc, 100, 0.0999, 0.1002},
                        {Dialect::grbl, 2, 0.0049, 0.0051},
                        {Dialect::grbl, 100, 0.0999, 0.1002},
                        {Dialect::grbl, 900, 0.4999, 0.5001},
                        {Dialect::either, 5, 0.0282, 0.0284}}) {
    const auto path = raw(arc(c.radius, c.accepted), as(c.dialect));
    ASSERT_TRUE(path) << told(path);
    EXPECT_TRUE(contains(fault_of(arc(c.radius, c.refused), as(c.dialect)), "does not meet its end"))
        << c.radius;
    EXPECT_TRUE(notes(*path, RemarkKind::rounded_arcs)) << c.radius;
  }
}

// The arc that is cut: on one circle through both ends, near the given one.
TEST(Reading, TheArcThatIsCutPassesThroughBothEnds) {
  for (const double turn_deg : {20.0, 90.0, 180.0, 265.0, 300.0, 355.0})
    for (const double off : {-0.025, 0.0007, 0.02}) {
      const double a = turn_deg * M_PI / 180, r = 10 + off;
      const std::string text =
          fmt::format("F100\nG3 X{:.9f} Y{:.9f} Z-1 I-10\nM2\n", r * std::cos(a) - 10, r * std::sin(a));
      const auto path = raw(text);
      ASSERT_TRUE(path) << told(path);
      double length = 0;
      for (const Move& move : path->moves) {
        ASSERT_EQ(move.kind, MoveKind::arc);
        EXPECT_NEAR(norm(xy(move.from) - move.centre), norm(xy(move.to) - move.centre),
                    std::abs(off) < 0.002 ? 0.002 : 1e-9)
            << turn_deg;
        for (const double s : {0.25, 0.5, 0.75}) // within the mismatch of the circle written
          EXPECT_NEAR(norm(xy(point_at(move, s)) - Vec2{-10, 0}), 10, 1.5 * std::abs(off))
              << turn_deg << " " << s;
        length += length_mm(move);
      }
      EXPECT_NEAR(length, std::hypot(a * 10, 1), 2 * std::abs(off) * a + 1e-6) << turn_deg;
      expect_at(path->moves.back().to, path->moves.back().to.x, path->moves.back().to.y, -1);
    }
}

TEST(Reading, ArcsTurnAsOftenAsPSays) { // LinuxCNC, G2 G3
  const Path path = read("F100 G2 X0 Y0 Z-3 I5 P3", at_origin());
  ASSERT_EQ(path.moves.size(), 1u);
  EXPECT_NEAR(length_mm(path.moves[0]), std::hypot(3 * 2 * M_PI * 5, 3), 1e-9);
}

// GRBL, gcode.c, step 3: G28.1 stores the place. LinuxCNC, G-code reference, G28.1: likewise.
TEST(Reading, AStoredHomeIsWhereTheTipStood) {
  const Path path = read("G0 X10 Y20 Z30\nG28.1\nG0 X1 Y2 Z3\nG28", at_origin());
  expect_at(path.moves.back().to, 10, 20, 30);
  EXPECT_FALSE(notes(path, RemarkKind::home_assumed));
  expect_at(last("G0 X10 Y20 Z30\nG30.1\nG0 X1 Y2 Z3\nG30 Z3"), 1, 2, 30); // Z alone goes home
  expect_at(last("G0 X10 Y20 Z30\nG30.1\nG0 X1 Y2 Z3\nG28"), 0, 0, 0);     // another home: the start place
}

// Before anything has said where the tip stands, G10 L20 names the place it was set down at, as G92 does.
TEST(Reading, G10L20TouchesOffWhereTheStartIsNotGiven) {
  ProgramOptions unknown;
  unknown.start_assumed = true;
  const Path path = read("G10 L20 P1 X0 Y0 Z0\nG0 Z5\nG0 X10\nG1 Z-3 F100", unknown);
  expect_at(path.start_mm, 0, 0, 0);
  expect_at(path.moves.back().to, 10, 0, -3); // 3 mm deep, not 17 mm up in the air
  EXPECT_EQ(path.touch_off_line, 1);
  EXPECT_TRUE(notes(path, RemarkKind::touched_off, "G10 L20"));
  // The tip under compensation goes along: nothing jumps.
  const Path beside = read("G10 L20 P1 X0 Y0 Z0\nG41.1 D2\nG1 X10 F100\nY10\nG40\nG1 X20 Y20", unknown);
  for (std::size_t n = 1; n < beside.moves.size(); ++n)
    expect_at(beside.moves[n].from, beside.moves[n - 1].to.x, beside.moves[n - 1].to.y,
              beside.moves[n - 1].to.z);
  expect_at(beside.moves.front().from, 0, 0, 0);
  // A place that is known is named instead: the sheet stays.
  const Path known = read("G0 X5 Y5 Z5\nG10 L20 P1 X0 Y0 Z0\nG0 X1", unknown);
  expect_at(known.moves.back().to, 6, 5, 5);
}

// Common practice of larger controls, no source; LinuxCNC and GRBL refuse each.
TEST(Reading, HabitsOfOtherControlsAreReadWithANote) {
  Path path = read("G0 X5 Y5 Z5\nG0 G91 G28 Z0\nG90 X1", at_origin());
  expect_at(path.moves.back().to, 1, 5, 0);
  EXPECT_TRUE(notes(path, RemarkKind::motion_beside_home, "G28"));
  path = read("G70\nG0 X1", at_origin());
  EXPECT_NEAR(path.moves.back().to.x, 25.4, 1e-12); // 1 inch is 25.4 mm
  EXPECT_TRUE(notes(path, RemarkKind::foreign_units, "G20"));
  path = read("S900 M13\nG1 X1 F100", at_origin());
  EXPECT_EQ(path.moves.back().spindle_rpm, 900);
  EXPECT_NE(path.moves.back().coolant, 0);
  path = read("G4 X1.5", at_origin());
  ASSERT_EQ(path.moves.size(), 1u);
  EXPECT_EQ(path.moves[0].kind, MoveKind::dwell);
  EXPECT_EQ(path.moves[0].feed_mm_min, 1.5f);
  EXPECT_TRUE(raw(":0012 (NAME)\nG0 X1\nM2\n"));
  EXPECT_TRUE(notes(read(":30 G0 X1"), RemarkKind::colon_block_number));
  EXPECT_TRUE(contains(fault_of(":x\nM2\n"), "':' does not begin"));
  for (const Dialect dialect : {Dialect::linuxcnc, Dialect::grbl})
    for (const char* text : {"G0 G28 Z0\nM2\n", "G70\nM2\n", "S9 M13\nM2\n", "G4 X1\nM2\n"})
      EXPECT_FALSE(raw(text, as(dialect))) << text;
}

// GRBL, protocol.c: within a comment only ')' counts. LinuxCNC refuses a second '('.
TEST(Reading, AnOpeningBracketInACommentIsText) {
  EXPECT_TRUE(notes(read("(to (the left)\nG0 X1"), RemarkKind::nested_comment));
  EXPECT_TRUE(contains(fault_of("(to (the) left)\nM2\n"), "comments do not nest"));
}

// GRBL, motion_control.c, mc_arc: no segment, and a line to the end. LinuxCNC: "zero radius arc".
TEST(Reading, AnArcWithoutRadiusMovesNothingInItsPlane) {
  const Path path = read("G1 X5 F100\nG2 X5 Y0 Z-1 I0 J0", at_origin());
  EXPECT_EQ(path.moves.back().kind, MoveKind::line);
  expect_at(path.moves.back().to, 5, 0, -1);
  EXPECT_TRUE(contains(fault_of("G1 X5 F100\nG2 X6 Y0 I0 J0\nM2\n"), "radius zero"));
  EXPECT_TRUE(contains(fault_of("G1 X5 F100\nG2 X5 Y0 I0 J0\nM2\n", as(Dialect::linuxcnc)), "radius zero"));
}

TEST(Reading, WhatIsNoProgramIsNotCalledEmptyToo) {
  const auto refused = raw("<html>\n");
  ASSERT_FALSE(refused);
  ASSERT_EQ(refused.faults().size(), 1u);
  EXPECT_TRUE(contains(refused.faults()[0].what, "mark-up"));
}

TEST(Reading, AScenesStarterKeepsTheZeroThatG10Sets) {
  ProgramOptions starter;
  starter.any_tool = true;
  starter.machine_zero_mm = Vec3{};
  const Path path = read("G10 L2 P1 X100 Y50 Z-30\nG0 X0 Y0 Z5\nG1 Z-1 F100", starter);
  expect_at(path.moves.back().to, 0, 0, -1);
}

TEST(Reading, TheSecondPercentSignBehindSubprogramsIsSeen) {
  const std::string text = "%\nO1\nM98 P2\nM30\nO2\nG0 X1\nM99\n";
  EXPECT_FALSE(notes(*raw(text + "%\n"), RemarkKind::one_percent));
  EXPECT_TRUE(notes(*raw(text), RemarkKind::one_percent));
}
