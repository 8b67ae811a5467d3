// Programs read by us and by rs274 (LinuxCNC), an interpreter that is not ours: the same motions.
#include "sim/program/written.hpp"
#include "sim/scene/scene.hpp"
#include "tests/sim/program/rs274_witness.hpp"
#include "tests/sim/program_read.hpp"

#include <gtest/gtest-spi.h>

#include <filesystem>

using namespace snagmap;
using namespace snagmap::testing;

namespace {

std::string text_of(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  std::stringstream all;
  all << in.rdbuf();
  return all.str();
}

void expect_same_motions(const std::string& text, const std::vector<int>& tools = {1, 2, 3, 4, 5, 6, 7, 8, 9}) {
  const Outcome<Path> path = parse_program(text, "t.nc", at_origin());
  ASSERT_TRUE(path) << told(path);
  expect_as_rs274(*path, rs274(text, tools));
}

#define NEEDS_RS274                                                                                                    \
  if (!has_rs274())                                                                                                    \
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
      expect_as_rs274(written->path, rs274(written->text));
    }
}

// A witness that agrees with anything would be none.
TEST(Witness, AnotherEndAnotherCentreAnotherSenseAreSeen) {
  NEEDS_RS274;
  const std::string text = "G21 G90 G17\nT3 M6\nS1000 M4\nM7\nG0 X0 Y0 Z5\nG18 G3 X10 Z5 I5 K0 F300\nG4 P0.5\n"
                           "G19 G2 Y4 Z5 J2 K0\nG17 G2 X10 Y4 Z1 I2 J0\nM0\nM9\nG0 Z9\nM5\nM30\n";
  expect_same_motions(text);
  const Witness seen = rs274(text);
  const Path path = *parse_program(text, "t.nc", at_origin());
  EXPECT_EQ(seen.moves.front().kind, MoveKind::tool_change);
  const auto differs = [&](auto change) {
    Path other = path;
    for (Move& move : other.moves)
      change(move);
    ::testing::TestPartResultArray found;
    {
      ::testing::ScopedFakeTestPartResultReporter reporter(
          ::testing::ScopedFakeTestPartResultReporter::INTERCEPT_ONLY_CURRENT_THREAD, &found);
      expect_as_rs274(other, seen);
    }
    return found.size() > 0;
  };
  EXPECT_FALSE(differs([](Move&) {}));
  EXPECT_TRUE(differs([](Move& m) { m.to.z += 3e-4; }));
  EXPECT_TRUE(differs([](Move& m) { m.centre.x += 3e-4; }));
  EXPECT_TRUE(differs([](Move& m) { m.turn_rad = -m.turn_rad; }));
  EXPECT_TRUE(differs([](Move& m) { m.spindle_rpm = -m.spindle_rpm; }));
  EXPECT_TRUE(differs([](Move& m) { m.tool_number = 4; }));
  EXPECT_TRUE(differs([](Move& m) { m.coolant = 0; }));
}
