// Where samples fall bears on no web: neither on its S nor on which it is.
#include "models/base/greatest.hpp"
#include "sim/program/program.hpp"
#include "sim/watch/sampler.hpp"
#include "tests/sim/slot_job.hpp"

#include <fmt/format.h>

#include <cmath>

using namespace snagmap;

// cos has its greatest value 1 at 0; golden section leaves 0.618^(count - 1) of the stretch (Kiefer 1953).
TEST(Greatest, IsFoundToWhatGoldenSectionLeaves) {
  for (const double shift : {-0.9, -0.3, 0.0, 0.45, 0.8}) {
    const Greatest top = greatest_on(-1, 1, 20, [&](double x) { return std::cos(x - shift); });
    EXPECT_NEAR(top.at, shift, 2 * std::pow(0.6181, 19)) << shift;
    EXPECT_NEAR(top.value, 1, 1e-6);
  }
}

TEST(Between, TheWayFromASampleIsTheSameInAnyPieces) {
  const auto path_in = [](int pieces) {
    std::string nc = "G21 G90 G17\nM3 S18000\nG0 X0 Y0 Z5\nG1 Z-2 F500\n";
    for (int n = 1; n <= pieces; ++n)
      nc += fmt::format("G1 X{:.9f} F2000\n", 20.0 * n / pieces);
    nc += "G3 X20 Y10 I0 J5\nG0 Z5\nM30\n";
    return *parse_program(nc, "test.nc", {});
  };
  const Path one = path_in(1), many = path_in(16);
  const Sampler of_one(one, 0), of_many(many, 0);
  const Sample a = sample_path(one, 2, 0)[4], b = sample_path(many, 2, 0)[4];
  for (const double way : {-60.0, -3.0, -0.4, 0.4, 3.0, 20.0, 60.0}) {
    const Sample there = of_one.along(a, way), again = of_many.along(b, way);
    EXPECT_NEAR(norm(there.tip_mm - again.tip_mm), 0, 1e-6) << way;
    EXPECT_NEAR(there.pass_step_mm, again.pass_step_mm, 1e-9);
    if (way > 0 && way < 10) { // the straight lies ahead
      EXPECT_NEAR(there.tip_mm.x - a.tip_mm.x, way, 1e-6);
    }
  }
  EXPECT_NEAR(of_one.along(a, 60).tip_mm.y, 10, 1e-6) << "no further than to where it goes straight up";
  EXPECT_NEAR(of_one.along(a, -60).tip_mm.z, 0, 1e-6) << "no further than to where it went under the top";
}

// A wall of 4 mm that grows to 12: named where it is thinnest, it is one web whichever slot is cut first.
TEST(WebNames, AreTheSheetsWhicheverPocketIsCutFirst) {
  const std::string level = "G0 X0 Y0\nG1 Z-8 F800\nG1 X90 F2000\nG0 Z5\n",
                    slanting = "G0 X0 Y10\nG1 Z-8 F800\nG1 X90 Y18 F2000\nG0 Z5\n";
  std::vector<WebFound> worst;
  for (const std::string& lines : {level + slanting, slanting + level}) {
    const Preview found = slot::run(slot::scene(), lines);
    ASSERT_FALSE(found.spots.empty());
    for (const WebFound& web : found.webs)
      if (web.id == found.spots.front().web)
        worst.push_back(web);
  }
  ASSERT_EQ(worst.size(), 2u);
  // Looked at squarely from one face or the other its thickness differs by the cosine of the slope of 8 / 90,
  // and the walk steps by half a thickness.
  EXPECT_NEAR(norm(middle_of(worst[0]) - middle_of(worst[1])), 0, 2);
}
