#include "sim/record/sweep.hpp"
#include "sim/record/swept.hpp"

#include <gtest/gtest.h>

#include <random>

namespace snagmap {
namespace {

// The cut leaves out the windows of columns that LowerEnd says it covers: these must have one window alone,
// and it must reach the lower end exactly, or the record would change by a bit.
TEST(RecordSweeps, ColumnsOfTheLowerEndHaveOneWindowThatReachesIt) {
  std::mt19937 random(1);
  std::uniform_real_distribution<double> u(-1, 1);
  int covered = 0;
  for (int n = 0; n < 20000; ++n) {
    Sweep sweep;
    sweep.za = 10 * u(random);
    sweep.zb = 10 * u(random);
    Sweeps sweeps;
    const double radius = 3 + 2 * u(random);
    switch (n % 3) {
    case 0:
      sweep.kind = SweepKind::upright;
      sweep.a = sweep.b = {u(random), u(random)};
      break;
    case 1:
      sweep.kind = SweepKind::line;
      sweep.a = {8 * u(random), 8 * u(random)};
      sweep.b = {8 * u(random), 8 * u(random)};
      break;
    default: // rings narrower and wider than the disc, up to three turns
      sweep.kind = SweepKind::arc;
      sweeps.arcs.push_back({{u(random), u(random)}, 5 + 4.9 * u(random), 3 * u(random), 19 * u(random)});
    }
    const LowerEnd end(sweep, sweeps, radius);
    EXPECT_EQ(end.z(), sweep.z_at(sweep.zb < sweep.za ? 1 : 0));
    for (int k = 0; k < 50; ++k) {
      const Vec2 p{15 * u(random), 15 * u(random)};
      if (!end.covers(p))
        continue;
      ++covered;
      Windows windows;
      windows_over(sweep, sweeps, radius, p, windows);
      ASSERT_EQ(windows.count, 1);
      EXPECT_EQ(sweep.zb < sweep.za ? windows.at[0].s1 : 1 - windows.at[0].s0, 1);
    }
  }
  EXPECT_GT(covered, 20000);
}

} // namespace
} // namespace snagmap
