// A sheet whose size is not given: its invented border makes no finding; a given one does.
#include "sim/preview/preview.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <unistd.h>

namespace snagmap {
namespace {

/// Two pockets of 60 x 30 mm, 25 mm deep, with a web of 6 mm between them; slots by a 6.35 mm cutter.
std::string program() {
  std::string nc = "G21 G90\nM3 S18000\nG0 Z5\n";
  for (const int pocket : {0, 1})
    for (int z = 5; z <= 25; z += 5) {
      const double x0 = 66 * pocket, x1 = x0 + 60 - 6.35, y1 = 30 - 6.35;
      nc += "G0 X" + std::to_string(x0) + " Y0\nG1 Z-" + std::to_string(z) + " F900\nX" + std::to_string(x1) +
            " F3000\nY" + std::to_string(y1) + "\nX" + std::to_string(x0) + "\nY0\nG0 Z5\n";
    }
  return nc + "M30\n";
}

Preview run(const std::string& sheet) {
  namespace fs = std::filesystem;
  const fs::path folder = fs::path(testing::TempDir()) / ("border_" + std::to_string(::getpid()));
  fs::create_directories(folder);
  std::ofstream(folder / "part.nc") << program();
  const auto scene =
      parse_scene("program = \"part.nc\"\nfoam = \"pu-22\"\ncutter = \"flat-6.35-long\"\n" + sheet, "t.toml",
                  folder.string());
  PreviewOptions options;
  options.verify = SolveChoice::none();
  if (!scene)
    ADD_FAILURE() << to_text(scene.faults().front());
  Outcome<Preview> found = preview(*scene, options);
  if (!found)
    ADD_FAILURE() << to_text(found.faults().front());
  return std::move(*found);
}

std::vector<double> snags(const Preview& job) {
  std::vector<double> s;
  for (const Spot& spot : job.spots)
    s.push_back(spot.s());
  return s;
}

/// Spots of a wall outside the pockets' own extents (-3.175 to 122.825 and -3.175 to 26.825 mm).
int at_the_rim(const Preview& job) {
  return static_cast<int>(std::count_if(job.spots.begin(), job.spots.end(), [](const Spot& spot) {
    return spot.level() >= Level::snags && (spot.place_mm.x < -3.1 || spot.place_mm.x > 122.7 ||
                                            spot.place_mm.y < -3.1 || spot.place_mm.y > 26.7);
  }));
}

TEST(AssumedBorder, IsJudgedAsIfTheSheetWentOn) {
  const Preview assumed = run("");
  // The same with 300 mm more foam all round, its columns at the same places: not a single spot may differ.
  const Preview endless =
      run("[sheet]\nsize = [\"866 mm\", \"770 mm\", \"35 mm\"]\nzero = [\"373.175 mm\", \"373.175 mm\"]\n");
  EXPECT_GT(assumed.spots.size(), 0u); // the web between the pockets
  EXPECT_GE(assumed.spots.front().level(), Level::snags);
  EXPECT_EQ(at_the_rim(assumed), 0);
  ASSERT_EQ(assumed.spots.size(), endless.spots.size());
  const std::vector<double> a = snags(assumed), b = snags(endless);
  for (std::size_t i = 0; i < a.size(); ++i)
    EXPECT_NEAR(a[i], b[i], 1e-6 * b[i]);
  EXPECT_TRUE(std::any_of(assumed.notes.begin(), assumed.notes.end(), [](const Note& note) {
    return std::holds_alternative<note::BorderAssumed>(note);
  }));
}

TEST(AssumedBorder, AGivenEdgeCountsEvenWithTheThicknessAssumed) {
  // 10 mm of foam left beside pockets 25 mm deep: a web as thin as any other.
  EXPECT_GT(
      at_the_rim(run("[sheet]\nsize = [\"146 mm\", \"50 mm\"]\nzero = [\"13.175 mm\", \"13.175 mm\"]\n")), 0);
}

TEST(AssumedBorder, AGivenThicknessLeavesThePlanAssumed) {
  const Preview job = run("[sheet]\nthickness = \"50 mm\"\n");
  EXPECT_EQ(at_the_rim(job), 0);
  EXPECT_EQ(job.scene.sheet.low.z, -50);
}

} // namespace
} // namespace snagmap
