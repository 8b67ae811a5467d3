// Loops, conditions, subprograms and their bounds, after LinuxCNC's manual (O-codes; G-code Overview,
// Parameters). Motions of accepted programs are held against rs274 in rs274_corpus_test.cpp.
#include "tests/sim/program_read.hpp"

#include <filesystem>
#include <fstream>

#include <unistd.h>

using namespace snagmap;

namespace {

namespace fs = std::filesystem;

std::vector<Fault> faults_of(const std::string& text, const ProgramOptions& options = at_origin()) {
  const auto path = parse_program(text, "t.nc", options);
  return path ? std::vector<Fault>{} : path.faults();
}
std::string first_fault(const std::string& text, const ProgramOptions& options = at_origin()) {
  const auto faults = faults_of(text, options);
  return faults.empty() ? "(accepted)" : faults.front().what;
}
bool contains(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

struct Folder {
  fs::path path = fs::temp_directory_path() / ("snagmap-language-" + std::to_string(getpid()));
  Folder() { fs::create_directories(path); }
  ~Folder() { fs::remove_all(path); }
  std::string write(const std::string& name, const std::string& text) const {
    fs::create_directories((path / name).parent_path());
    std::ofstream(path / name, std::ios::binary) << text;
    return (path / name).string();
  }
};

} // namespace

TEST(Language, MovesOfALoopCarryTheirOwnLine) {
  const Path path = read("F100\n#1=0\no1 while [#1 LT 3]\nG1 X[#1+1]\n#1=[#1+1]\no1 endwhile\nG1 X0");
  ASSERT_EQ(path.moves.size(), 4u);
  EXPECT_EQ(path.moves[0].line, 4);
  EXPECT_EQ(path.moves[2].line, 4);
  EXPECT_EQ(path.moves[3].line, 7);
}

TEST(Language, ASubprogramsParametersAreItsOwn) {
  expect_at(last("F100 #1=9\no1 sub\nG1 X#1 Y#2\n#1=77\no1 endsub\no1 call [3] [4]\nG1 Z#1"), 3, 4, 9);
  EXPECT_TRUE(contains(first_fault("o1 sub\n#<own>=1\no1 endsub\no1 call\nG0 X#<own>\nM2\n"),
                       "#<own> is used before"));
}

TEST(Language, M97RunsTheLinesFromABlockNumberOn) { // practice: other controls' local subprograms
  expect_at(last("F100 G91\nM97 P500 L3\nG90 M30\nN500 G1 X2\nM99"), 6, 0, 0);
}

TEST(Language, ABoundedLoopThatRunsAwayIsNamed) {
  ProgramOptions options = at_origin();
  options.most_lines = 5000;
  auto faults = faults_of("G0 X1\no5 while [1]\n#1=1\no5 endwhile\nM2\n", options);
  ASSERT_EQ(faults.size(), 1u);
  EXPECT_EQ(faults[0].line, 2);
  EXPECT_TRUE(contains(faults[0].what, "loop o5 while of line 2 ran away")) << faults[0].what;
  faults = faults_of("o1 sub\no2 repeat [100000000]\n#1=1\no2 endrepeat\no1 endsub\no1 call\nM2\n", options);
  ASSERT_EQ(faults.size(), 1u);
  EXPECT_EQ(faults[0].line, 2);
  faults = faults_of("M98 P7 L900000\nM2\nO7\n#1=1\nM99\n", options);
  ASSERT_EQ(faults.size(), 1u);
  EXPECT_EQ(faults[0].line, 1);
}

TEST(Language, ACallOfItselfIsNamed) { // LinuxCNC: ten levels
  const auto faults = faults_of("o1 sub\no1 call\no1 endsub\no1 call\nM2\n");
  ASSERT_EQ(faults.size(), 1u);
  EXPECT_EQ(faults[0].line, 2);
  EXPECT_TRUE(contains(faults[0].what, "does it call itself?"));
}

TEST(Language, AnotherFileIsCalledBesideTheProgramOnly) {
  const Folder folder;
  folder.write("hole.ngc", "o<hole> sub\nG1 X#1 F100\no<hole> endsub\n");
  folder.write("77.ngc", "O77\nG1 Y5 F100\nM99\n");
  folder.write("deep/hidden.ngc", "o<hidden> sub\nG1 X1 F100\no<hidden> endsub\n");
  const auto path =
      read_program(folder.write("main.ngc", "G21\no<hole> call [4]\nM98 P77\nM2\n"), at_origin());
  ASSERT_TRUE(path) << told(path);
  ASSERT_EQ(path->moves.size(), 2u);
  expect_at(path->moves.back().to, 4, 5, 0);
  EXPECT_EQ(path->moves[0].line, 2); // the line of the call
  EXPECT_EQ(path->moves[1].line, 3);
  for (const std::string name : {"../hole", "/etc/hole", "deep/hidden", "hidden"}) {
    const auto refused = read_program(folder.write("bad.ngc", "o<" + name + "> call\nM2\n"), at_origin());
    ASSERT_FALSE(refused) << name;
    EXPECT_TRUE(contains(refused.faults().front().what, "call of o<" + name + ">"))
        << refused.faults().front().what;
  }
  // Text in memory has no folder.
  EXPECT_TRUE(contains(first_fault("o<hole> call [4]\nM2\n"), "no such subprogram in this program"));
}

TEST(Language, AFaultInACalledFileNamesThatFile) {
  const Folder folder;
  folder.write("sub.ngc", "o<sub> sub\nG1 X1 X2\no<sub> endsub\n");
  const auto path = read_program(folder.write("main.ngc", "o<sub> call\nM2\n"), at_origin());
  ASSERT_FALSE(path);
  EXPECT_TRUE(contains(path.faults().front().file, "sub.ngc"));
  EXPECT_EQ(path.faults().front().line, 2);
}

TEST(Language, M99InTheMainProgramIsReadOnce) {
  const Path path = *parse_program("G0 X1\nM99\nG0 X2\n", "t.nc", at_origin());
  EXPECT_EQ(path.moves.size(), 1u);
  EXPECT_TRUE(notes(path, RemarkKind::starts_over));
}

// ':' in place of O names a program (practice); LinuxCNC knows O words by the letter alone (manual, O-codes).
TEST(Language, AColonBeginsNoBranch) {
  expect_at(last("o5 if [0]\nG0 X1\n:5 else\nG0 Y1\no5 endif\nG0 Z7"), 0, 0, 7);
  EXPECT_TRUE(contains(first_fault("o5 if [0]\nG0 X1\n:5 endif\nM2\n"), "o5 has no endif after it"));
}

// One line for a rule, with its count and first place, and all rules in one run.
TEST(Refusals, ARuleIsToldOnceWithItsCountAndFirstPlace) {
  std::string text = "G21 F100\n";
  for (int i = 0; i < 298; ++i)
    text += "G2 X" + std::to_string(i % 7) + " I5 K1\n";
  text += "G7\nG1 X1 H3\n";
  const auto faults = faults_of(text + "M2\n");
  ASSERT_EQ(faults.size(), 3u);
  EXPECT_TRUE(contains(faults[0].what, "K on G17 (X Y) arcs")) << faults[0].what;
  EXPECT_TRUE(contains(faults[0].what, ": 298 lines, first 2:")) << faults[0].what;
  EXPECT_TRUE(contains(faults[1].what, "G7: lathe diameter mode"));
  EXPECT_TRUE(contains(faults[2].what, "H word"));
}

TEST(Refusals, ManyFaultsOfManyRulesAreAllTold) {
  std::string text;
  for (int i = 0; i < 5000; ++i)
    text += "G5 X1\nG7\nG12 I3\nG33 Z1\nG68 R1\nM66 P1\nG0 X1 X2\nG0 A9\n";
  EXPECT_EQ(faults_of(text + "M2\n").size(), 8u);
}

// What is no RS-274 is named for what it is.
TEST(Refusals, ConstructsOfOtherLanguagesAreNamed) {
  for (const auto& [line, what] : {std::pair{"IF [#1 GT 2] GOTO 100", "macro statement"},
                                   {"WHILE [#1 LT 3] DO1", "macro statement"},
                                   {"END1", "macro statement"},
                                   {"GOTO 10", "macro statement"},
                                   {"N5 IF [1 EQ 1] THEN #1=2", "macro statement"},
                                   {"TOOL CALL 3 Z S2000", "dialogue program"},
                                   {"L X+10 Y+5 R0 FMAX", "dialogue program"},
                                   {"CYCLE81(10,0,2,-5)", "another control's language"},
                                   {"<?xml version=\"1.0\"?>", "mark-up"},
                                   {"G76 P0.05 Z-1 I-.075 J0.008 K0.045", "threading cycle"},
                                   {"G71 P10 Q20", "lathe"},
                                   {"G1 X1 Y1 E0.5 F100", "extruder"}})
    EXPECT_TRUE(contains(first_fault(std::string(line) + "\nM2\n"), what))
        << line << ": " << first_fault(std::string(line) + "\nM2\n");
}

// Advice that would cut another part is worse than none.
TEST(Refusals, NoAdviceLeavesOutAWordThatMoves) {
  for (const char* line : {"G1 X1 @", "^", "@5 ^", "G1 X10 H2", "G0 X1 K5", "G1 X1 Q3", "G5 X1", "G38.2 Z-5",
                           "X1 %", "G2 X1 K3 I1", "G33 Z1", "G76 X1", "#5", "W5", "G10 L5"}) {
    for (const Fault& fault : faults_of(std::string("F100\n") + line + "\nM2\n"))
      EXPECT_FALSE(contains(fault.way_out, "remove")) << line << ": " << fault.way_out;
  }
}
