// Every shape of scripts/conforming_shapes.txt against second-order elements on conforming meshes.
#include "sim/verify/verify.hpp"
#include "tests/sim/conforming_shapes.hpp"
#include "tests/sim/why_not.hpp"

#include <cstdio>

using namespace snagmap;
using namespace snagmap::testing;

TEST(ConformingStudy, NineteenShapesOfTwentyComeOutWithinFivePercent) {
  int all = 0, within = 0;
  for (const ConformingShape& shape : conforming_shapes()) {
    const WebCase web = built(shape);
    const SolidCheck check = verify_spot(web.record, web.scene, web.spot);
    EXPECT_TRUE(check.verified) << shape.name << ": " << why_not(check);
    const double off = check.answer.s / shape.s - 1;
    ++all, within += check.verified && std::abs(off) <= 0.05;
    std::printf("  %-22s S %8.4f, meshes %4.1f %% apart: elements %+6.1f %%, formula %+6.1f %%, %7d "
                "unknowns, %.2f s\n",
                shape.name.c_str(), shape.s, shape.apart_percent, 100 * off,
                100 * (web.spot.answer.s / shape.s - 1), check.unknowns, check.seconds);
  }
  std::printf("%d of %d shapes within 5 %%\n", within, all);
  EXPECT_GE(all, 60);
  EXPECT_GE(within, 0.95 * all);
}
