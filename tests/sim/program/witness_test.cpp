// Programs read by us and by rs274 (LinuxCNC), an interpreter that is not ours: the same motions.
#include "sim/program/written.hpp"
#include "sim/scene/scene.hpp"
#include "tests/sim/program/rs274_witness.hpp"
#include "tests/sim/program_read.hpp"

#include <filesystem>

using namespace snagmap;
using namespace snagmap::witness;

namespace {

std::string text_of(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  std::stringstream all;
  all << in.rdbuf();
  return all.str();
}

void expect_same_motions(const std::string& text,
                         const std::vector<int>& tools = {1, 2, 3, 4, 5, 6, 7, 8, 9}) {
  const Outcome<Path> path = parse_program(text, "t.nc", at_origin());
  ASSERT_TRUE(path) << told(path);
  EXPECT_EQ(unlike_rs274(*path, rs274(text, tools)), "");
}

#define NEEDS_RS274                                                                                          \
  if (!has_rs274())                                                                                          \
  GTEST_SKIP() << "rs274 is not installed: apt install linuxcnc-uspace"

} // namespace

TEST(Witness, DemoProgramsMoveAsRs274Says) {
  NEEDS_RS274;
  int programs = 0;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(SNAGMAP_ROOT "/scenes"))
    if (entry.path().extension() == ".nc") {
      SCOPED_TRACE(entry.path());
      ++programs;
      expect_same_motions(text_of(entry.path()));
    }
  EXPECT_GE(programs, 3);
}

TEST(Witness, DemoProgramsWrittenAgainMoveAsRs274Says) {
  NEEDS_RS274;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(SNAGMAP_ROOT "/scenes"))
    if (entry.path().extension() == ".nc") {
      SCOPED_TRACE(entry.path());
      const Outcome<Path> path = parse_program(text_of(entry.path()), "t.nc", at_origin());
      ASSERT_TRUE(path);
      const Outcome<WrittenProgram> written = written_program(*path, "w.nc", at_origin(), {"again"});
      ASSERT_TRUE(written) << to_text(written.faults().front());
      EXPECT_EQ(unlike_rs274(written->path, rs274(written->text)), "");
    }
}

// A witness that agrees with anything would be none.
TEST(Witness, AnotherEndAnotherCentreAnotherSenseAreSeen) {
  NEEDS_RS274;
  const std::string text =
      "G21 G90 G17\nT3 M6\nS1000 M4\nM7\nG0 X0 Y0 Z5\nG18 G3 X10 Z5 I5 K0 F300\nG4 P0.5\n"
      "G19 G2 Y4 Z5 J2 K0\nG17 G2 X10 Y4 Z1 I2 J0\nM0\nM9\nG0 Z9\nM5\nM30\n";
  expect_same_motions(text);
  const Witness seen = rs274(text);
  const Path path = *parse_program(text, "t.nc", at_origin());
  EXPECT_EQ(seen.moves.front().kind, MoveKind::tool_change);
  const auto differs = [&](auto change) {
    Path other = path;
    for (Move& move : other.moves)
      change(move);
    return !unlike_rs274(other, seen).empty();
  };
  EXPECT_FALSE(differs([](Move&) {}));
  EXPECT_TRUE(differs([](Move& m) { m.to.z += 3e-4; }));
  EXPECT_TRUE(differs([](Move& m) { m.centre.x += 3e-4; }));
  EXPECT_TRUE(differs([](Move& m) { m.turn_rad = -m.turn_rad; }));
  EXPECT_TRUE(differs([](Move& m) { m.spindle_rpm = -m.spindle_rpm; }));
  EXPECT_TRUE(differs([](Move& m) { m.tool_number = 4; }));
  EXPECT_TRUE(differs([](Move& m) { m.coolant = 0; }));
}

// What our reader and writer make of a program is what the witness sees in its source.
TEST(Witness, AProgramWrittenAgainMovesAsItsSource) {
  NEEDS_RS274;
  for (const char* unit : {"G21", "G20"}) {
    const std::string source =
        std::string(unit) +
        " G90 G17\nG56\nT3 M6\nG43 H3\nS1200 M4\nM8\nG0 Z0.5\nG0 X0 Y0\nG1 Z-0.25 F10\nG61\n"
        "G2 X1 Y1 Z-0.5 I1 J0\nG18 G3 X2 Z-0.5 I0.5 K0\nG19 G2 Y2 Z-0.5 J0.5 K0\nG91\nG1 X0.5\n"
        "G90 G17\nG2 X2.5 Y2 I-0.25 J0\nG4 P1.5\nG81 X3 Y3 Z-0.25 R0.125 F20\nG80\nM9\nM0\n"
        "T4 M6\nG43 H4\nS800 M3\nG0 Z0.5\nG1 X0 F12.5\nM5\nM30\n";
    ProgramOptions how = at_origin();
    how.tool_index = {{3, 0}, {4, 1}};
    const Outcome<Path> path = parse_program(source, "s.nc", how);
    ASSERT_TRUE(path) << told(path);
    const Outcome<WrittenProgram> written = written_program(*path, "w.nc", how, {});
    ASSERT_TRUE(written) << to_text(written.faults().front());
    EXPECT_EQ(unlike_rs274(written->path, rs274(source)), "");
    EXPECT_EQ(unlike_rs274(*path, rs274(written->text)), "");
  }
}
