// Samples along the path: facts that follow from the definitions, by hand.
#include "sim/path/layers.hpp"
#include "sim/program/program.hpp"
#include "sim/watch/sampling.hpp"

#include <gtest/gtest.h>

using namespace snagmap;

namespace {

Path path_of(const std::string& nc) {
  const Outcome<Path> path = parse_program("G21 G90 G17\nM3 S18000\n" + nc + "M30\n", "test.nc", {});
  EXPECT_TRUE(path) << to_text(path.faults().front());
  return *path;
}

} // namespace

TEST(Sampling, SpacingIsKeptAcrossShortMoves) {
  std::string nc = "G0 X0 Y0 Z5\nG1 Z-2 F500\n";
  for (int i = 1; i <= 400; ++i)
    nc += "G1 X" + std::to_string(0.25 * i) + " F3000\n";
  int flat = 0;
  Vec3 last{-1, 0, 0};
  for (const Sample& sample : sample_path(path_of(nc), 1.5, 0)) {
    if (sample.tip_mm.z > -2)
      continue;
    if (flat++ > 0) {
      EXPECT_NEAR(sample.tip_mm.x - last.x, 1.5, 1e-6);
    }
    last = sample.tip_mm;
  }
  EXPECT_NEAR(flat, 100 / 1.5, 1);
}

// A kilometre beside the sheet holds no foam; what is left is what a sampling of everything has there.
TEST(Sampling, NothingFarBesideTheSheetIsLookedAt) {
  const Path path =
      path_of("G0 X0 Y0 Z5\nG1 Z-2 F500\nG1 X900000 F3000\nG1 X20\nG3 X20 Y0 I-400000 J0\nG1 X0\nG0 Z5\n");
  const Box3 sheet{{-10, -10, -20}, {30, 30, 0}};
  const std::vector<Sample> near = sample_path(path, 100, sheet, 4), all = sample_path(path, 100, 0);
  EXPECT_LT(near.size(), 30u);
  std::vector<double> seen, expected;
  for (const Sample& sample : near)
    seen.push_back(sample.share);
  for (const Sample& sample : all)
    if (sample.tip_mm.x >= -14 && sample.tip_mm.x <= 34 && sample.tip_mm.y >= -14 && sample.tip_mm.y <= 34)
      expected.push_back(sample.share);
  ASSERT_EQ(seen.size(), expected.size());
  for (std::size_t n = 0; n < seen.size(); ++n)
    EXPECT_NEAR(seen[n], expected[n], 1e-9);
}

TEST(Sampling, RefusesASpacingThatIsNone) {
  EXPECT_THROW(sample_path(path_of("G0 X0\n"), 0, 0), std::invalid_argument);
  EXPECT_THROW(sample_path(path_of("G0 X0\n"), std::nan(""), 0), std::invalid_argument);
}

TEST(Sampling, ARampBelongsToTheLevelItLeadsTo) {
  const Path path = path_of("G0 X0 Y0 Z5\nG1 Z0 F500\nG1 X20 Z-2\nG1 X0 Z-4\nG1 X20\nG0 Z5\n");
  const std::vector<double> level = pass_levels_mm(path);
  for (std::size_t i = 0; i < path.moves.size(); ++i)
    if (path.moves[i].kind == MoveKind::line && path.moves[i].to.z < -1) {
      EXPECT_DOUBLE_EQ(level[i], -4);
    }
}

TEST(Sampling, TheFirstLookIsHalfASpacingUnderTheTop) {
  // 1, 3, ... 29 mm of way under the top, of which the first half goes down.
  const std::vector<Sample> samples = sample_path(path_of("G0 X0 Y0 Z-0.5\nG1 X30 F3000"), 2, 0);
  ASSERT_EQ(samples.size(), 15u);
  EXPECT_NEAR(samples.front().tip_mm.x, 0.5, 1e-9);
  EXPECT_NEAR(samples.back().tip_mm.x, 28.5, 1e-9);
}

TEST(Sampling, TheDepthOfAPassIsCountedInItsOwnPocket) {
  // Two pockets with other levels: 4, 8 and then 5, 9. No pass of the second is 1 mm deep.
  const std::string way = "\nG1 X30 F3000\nG0 Z5\n";
  const Path path = path_of("G0 X0 Y0 Z5\nG1 Z-4 F500" + way + "G0 X0\nG1 Z-8" + way + "G0 X0 Y40\nG1 Z-5" +
                            way + "G0 X0 Y40\nG1 Z-9" + way);
  int seen = 0;
  for (const Sample& sample : sample_path(path, 2, 0)) {
    const double z = sample.pass_z_mm;
    EXPECT_DOUBLE_EQ(sample.pass_step_mm, z == -5 ? 5 : 4) << z;
    ++seen;
  }
  EXPECT_GT(seen, 40);
}

TEST(Sampling, NothingAboveTheSheetIsLookedAt) {
  for (const Sample& sample : sample_path(path_of("G0 X0 Y0 Z5\nG1 X50 F3000\nG1 Z-3\nG1 X0\n"), 1, 0))
    EXPECT_LT(sample.tip_mm.z, 0);
}
