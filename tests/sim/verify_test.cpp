// Verification of spots on webs cut by programs, against independent finite elements and against itself.
#include "sim/verify.hpp"

#include "tests/sim/verify_fixture.hpp"

using namespace snagmap;
using namespace snagmap::testing;

namespace {

double gamma_of(const WebCase& web, const VerifyOptions& options = {}) {
  const SolidCheck check = verify_spot(web.record, web.scene, web.spot, options);
  EXPECT_TRUE(check.verified) << check.why_not;
  if (getenv("SHOW")) printf("bricks %d iterations %d edges %.3g %.3g %.3g gamma %.4g\n",check.bricks,check.iterations,check.brick_mm[0],check.brick_mm[1],check.brick_mm[2],check.s/.3);
  return check.s / web.scene.layers[0].foam.lambda.nominal;
}

} // namespace

TEST(Verify, ReferenceWebs) {
  const struct { double w, h, gamma; } cases[] = {{5, 25, 72.1}, {10, 25, 13.3}, {19, 25, 4.16}, {30, 25, 2.57}, {10, 50, 84.9}, {19, 50, 17.4}, {30, 50, 6.91}};
  for (const auto& c : cases) {
    StraightWeb web; web.w=c.w; web.h=c.h;
    const WebCase built = cut_web(web);
    for (int n: {4,8}) {
    VerifyOptions o; o.patch.across=n; o.spot_cost=1e9;
    EXPECT_NEAR(gamma_of(built,o) / c.gamma, 1, 0.04) << c.w << " x " << c.h<<" n "<<n; }
  }
}
