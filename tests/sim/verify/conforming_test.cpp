// Shapes of many kinds against second-order elements on conforming meshes, an outside witness: gmsh and
// CalculiX by scripts/conforming. The suite takes one of each kind, tests/long all.
#include "sim/verify/verify.hpp"
#include "tests/sim/conforming_shapes.hpp"
#include "tests/sim/why_not.hpp"

using namespace snagmap;
using namespace snagmap::testing;

TEST(Conforming, TheWitnessIsSurerThanWhatItIsAskedFor) {
  const std::vector<ConformingShape> shapes = conforming_shapes();
  EXPECT_GE(shapes.size(), 60u);
  for (const ConformingShape& shape : shapes)
    EXPECT_LT(shape.apart_percent, 1) << shape.name; // its last two meshes
}

TEST(Conforming, ShapesOfEveryKindComeOutWithinFivePercent) {
  const char* const kinds[] = {"round-post-8x12", "hex-post-8-off",      "ring-5-from-outside", "neck-4-r10",
                               "wedge-1-in-5",    "step-along",          "notch-beside",        "hole-beside",
                               "L-from-outside",  "undercut-both",       "near-floor-deeper",   "sheet-edge",
                               "board-free-end",  "layers-firm-on-soft", "free-end-at-0.5"};
  int found = 0;
  for (const ConformingShape& shape : conforming_shapes()) {
    if (std::find(std::begin(kinds), std::end(kinds), shape.name) == std::end(kinds))
      continue;
    ++found;
    const WebCase web = built(shape);
    const SolidCheck check = verify_spot(web.record, web.scene, web.spot);
    ASSERT_TRUE(check.verified) << shape.name << ": " << why_not(check);
    EXPECT_NEAR(check.answer.s / shape.s, 1, 0.05) << shape.name;
  }
  EXPECT_EQ(found, int(std::size(kinds)));
}
