// --quick beside the full run: it leaves out finite elements and pictures, and changes no finding.
#include "sim/results/results.hpp"
#include "tests/viz/real_program.hpp"

#include <cmath>

using namespace snagmap::testing;

namespace {

class Quick : public RealProgram {
protected:
  /// Two slots with a web of 7 mm between them.
  static std::string web() {
    return "G21 G90\nS18000 M3\nG0 Z5\nG0 X0 Y0\nG1 Z-12 F900\nX40 F3000\nG0 Z5\n"
           "G0 X0 Y13.35\nG1 Z-12 F900\nX40 F3000\nG0 Z5\nM30\n";
  }
  /// A long way that is left and met again at gaps of 1 to 4 mm: lifts over a strip, and runs beside it.
  static std::string gaps() {
    std::string nc = "G21 G90\nS18000 M3\nG0 Z5\nG0 X0 Y0\nG1 Z-2 F900\nF3000\n";
    for (int row = 0; row < 8; ++row) {
      const double y = 10.0 * row, gap = 7 + 0.5 * row;
      nc += "G1 Z-2 X" + std::to_string(row % 2 ? 150 : 0) + " Y" + std::to_string(y) + "\n";
      const double to = row % 2 ? 0 : 150, half = 0.5 * gap * (row % 2 ? -1 : 1);
      nc += "X" + std::to_string(75 - half) + "\nZ1\nX" + std::to_string(75 + half) + "\nZ-2\nX" +
            std::to_string(to) + "\n";
    }
    return nc + "G0 Z5\nM30\n";
  }
};

} // namespace

TEST_F(Quick, AgreesWithTheFullRunInEveryFindingAndInEverySpotsFormula) {
  for (const std::string& program : {web(), gaps()}) {
    put("part.nc", program);
    put("job.toml", "program = \"part.nc\"\nfoam = \"pu-22\"\ncutter = \"flat-6.35-long\"\n"
                    "[sheet]\nsize = [\"400 mm\", \"300 mm\", \"35 mm\"]\nzero = [\"100 mm\", \"100 mm\"]\n");
    const Ran quick_run = run("preview job.toml --quick --json"),
              full_run = run("preview job.toml --verify 1 --json");
    const auto quick = snagmap::parse_result(quick_run.out, "quick"),
               full = snagmap::parse_result(full_run.out, "full");
    ASSERT_TRUE(quick && full) << quick_run.err << full_run.err;
    EXPECT_EQ(quick->voxel_mm, full->voxel_mm);
    // Findings hang on S only where a snag is what pulls, and on the lean where it leaves the wall undersize:
    // those are told by the solved answer in the full run.
    const auto told = [](const snagmap::Result& of) {
      std::vector<std::string> all;
      for (const snagmap::FindingRead& one : of.findings)
        if (one.kind != snagmap::FindingKind::weak_hold && one.kind != snagmap::FindingKind::wall_error)
          all.push_back(to_text(one.kind) + std::string(" ") + std::to_string(one.program_line) + " " +
                        one.words);
      return all;
    };
    EXPECT_EQ(told(*quick), told(*full));
    // The order is by the S that decides; places, webs and the formula's S are the same.
    ASSERT_EQ(quick->spots.size(), full->spots.size());
    int verified = 0;
    for (const snagmap::Spot& a : quick->spots) {
      const auto b = std::find_if(full->spots.begin(), full->spots.end(), [&](const snagmap::Spot& other) {
        return other.web == a.web && other.move == a.move && other.move_share == a.move_share &&
               other.normal.x == a.normal.x && other.normal.y == a.normal.y;
      });
      ASSERT_NE(b, full->spots.end());
      EXPECT_EQ(a.answer.s, b->by_formula().s);
      EXPECT_FALSE(a.fe);
      verified += b->solved();
      if (b->solved() && program == web()) { // straight: within the band that the formula's S states
        EXPECT_GT(b->answer.s, a.answer.s_low);
        EXPECT_LT(b->answer.s, a.answer.s_high);
      }
    }
    EXPECT_EQ(verified, 1);
    const auto says = [](const snagmap::Result& of) {
      return std::any_of(of.notes.begin(), of.notes.end(), [](const std::string& note) {
        return note.find("every S is the formula's") != std::string::npos;
      });
    };
    EXPECT_EQ(says(*quick), !quick->spots.empty());
    EXPECT_FALSE(says(*full));
  }
}

// Runs are known from the moves, so a coarse voxel tells the same of them.
TEST_F(Quick, ACoarseVoxelTellsTheSameStrands) {
  put("part.nc", gaps());
  put("job.toml", "program = \"part.nc\"\nfoam = \"pu-22\"\ncutter = \"flat-6.35-long\"\n");
  const auto strands = [&](const std::string& voxel) {
    const Ran ran = run("preview job.toml --quick --json --voxel '" + voxel + "'");
    EXPECT_EQ(ran.out.find("voxel = "), std::string::npos); // given by the option, not assumed
    std::size_t count = 0;
    for (std::size_t at = ran.out.find("\"kind\":\"strand\""); at != std::string::npos;
         at = ran.out.find("\"kind\":\"strand\"", at + 1))
      ++count;
    return count;
  };
  EXPECT_EQ(strands("1 mm"), strands("0.4 mm"));
}

TEST_F(Quick, AProgramThatCutsNothingExitsWith2AndSaysSoFirst) {
  put("part.nc", "G21 G90\nS18000 M3\nG0 X0 Y0 Z5\nG1 Z2 F900\nX50\nM30\n");
  const Ran ran = run("preview part.nc --foam pu-22 --cutter flat-6.35-long --out result");
  EXPECT_EQ(ran.status, 2);
  EXPECT_EQ(ran.err.rfind(fs::current_path().string() +
                              "/part.nc:4: the program cuts nothing: its lowest point, z "
                              "2.00 mm, is not below the sheet's top, z 0.00 mm",
                          0),
            0u)
      << ran.err;
  EXPECT_EQ(ran.out, "");
  EXPECT_FALSE(fs::exists("result"));
}

TEST_F(Quick, ATouchOffIsListedUnderAssumedAndAGivenStartWins) {
  put("part.nc", "G21 G90\nG92 X0 Y0 Z0\nS18000 M3\nG0 Z5\nG0 X10\nG1 Z-5 F900\nX60 F3000\nG0 Z5\nM30\n");
  Ran ran = run("preview part.nc --foam pu-22 --cutter flat-6.35-long --quick --json");
  EXPECT_EQ(ran.status & ~3, 0) << ran.err;
  EXPECT_NE(ran.out.find("[program] start = 0 mm, 0 mm, 0 mm (line 2 says where the tip stands"),
            std::string::npos);
  EXPECT_EQ(ran.out.find("0 mm, 0 mm, 20 mm"), std::string::npos); // the guess is not listed beside it
  put("job.toml",
      "program = { file = \"part.nc\", start = [\"0 mm\", \"0 mm\", \"20 mm\"] }\nfoam = \"pu-22\"\n"
      "cutter = \"flat-6.35-long\"\n");
  ran = run("preview job.toml --quick --json");
  EXPECT_EQ(ran.status, 2); // 20 mm up in the air
  EXPECT_NE(ran.err.find("cuts nothing: its lowest point, z 15.00 mm"), std::string::npos) << ran.err;
}
