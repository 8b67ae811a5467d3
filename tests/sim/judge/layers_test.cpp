// Webs of more than one foam: every slice of the contact has its own foam's bite, and the formula decides
// none.
#include "tests/sim/slot_job.hpp"
#include "tests/sim/why_not.hpp"

#include <fmt/format.h>

using namespace snagmap;

namespace {

/// Two slots 9 mm deep, 4 mm of foam between them; the upper foam begins `joint_mm` under the top.
Preview two_foams(const char* lower, const char* upper, double joint_mm, std::size_t solved = 0) {
  Scene scene = slot::scene();
  scene.voxel_mm = 1;
  scene.layers = {{*find_foam(lower), 20 - joint_mm}, {*find_foam(upper), joint_mm}};
  scene.program_file = "slot.nc";
  scene.program_text =
      "G21 G90 G61.1 T1 M6\nS18000 M3 G0 X0 Y0 Z5\nG1 Z-4.5 F800\nG1 X60 F2000\nG1 Z-9\nG1 X0\n"
      "G0 Z5\nG0 Y10\nG1 Z-4.5 F800\nG1 X60 F2000\nG1 Z-9\nG1 X0\nG0 Z5\nM30\n";
  PreviewOptions options;
  options.verify = SolveChoice::worst(solved);
  Outcome<Preview> found = preview(scene, options);
  if (!found) {
    ADD_FAILURE() << to_text(found.faults().front());
    return {};
  }
  return std::move(*found);
}

} // namespace

TEST(Layers, OneFoamInTwoLayersIsOneFoam) {
  const Preview one = two_foams("pu-22", "pu-22", 4.5, 1), other = two_foams("pu-22", "pu-22", 7.31, 1);
  ASSERT_FALSE(one.spots.empty());
  ASSERT_TRUE(one.spots[0].solved()) << why_not(*one.spots[0].fe);
  // The same numbers but for the sums of shares over the layers.
  EXPECT_NEAR(one.spots[0].by_formula().s, other.spots[0].by_formula().s, 1e-9 * one.spots[0].by_formula().s);
  EXPECT_NEAR(one.spots[0].fe->answer.s, other.spots[0].fe->answer.s, 1e-5 * one.spots[0].fe->answer.s);
}

TEST(Layers, AWebWithAJointIsOpenUntilElementsHaveJudgedIt) {
  for (const double joint_mm : {3.0, 4.5, 7.0}) {
    const Preview formula = two_foams("pu-22", "pe-32", joint_mm);
    ASSERT_FALSE(formula.spots.empty());
    for (const Spot& spot : formula.spots)
      EXPECT_TRUE(spot.open()) << joint_mm;
  }
  const Preview solved = two_foams("pu-22", "pe-32", 4.5, -1);
  for (const Spot& spot : solved.spots)
    EXPECT_TRUE(spot.fe) << "by elements, or open";
}

// At mid-height the foam a web is judged by could be either; S must not hang on which. A micrometre of joint
// is a micrometre of 9.
TEST(Layers, AJointAtMidHeightDoesNotFlipTheAnswerByRounding) {
  const Preview below = two_foams("pu-22", "pu-32", 4.5 + 1e-5, 1),
                above = two_foams("pu-22", "pu-32", 4.5 - 1e-5, 1);
  ASSERT_FALSE(below.spots.empty());
  ASSERT_TRUE(below.spots[0].fe->verified && above.spots[0].fe->verified);
  EXPECT_NEAR(below.spots[0].fe->answer.s, above.spots[0].fe->answer.s, 1e-4 * above.spots[0].fe->answer.s);
  EXPECT_NEAR(below.spots[0].by_formula().s, above.spots[0].by_formula().s,
              1e-4 * above.spots[0].by_formula().s);
}
