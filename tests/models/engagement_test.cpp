// Worked with the textbook formulas (Altintas, Manufacturing Automation; Machinery's Handbook): cutter 6 mm,
// 2 flutes, 18000 rpm, 7000 mm/min.
#include "models/engagement.hpp"

#include <gtest/gtest.h>

#include <cmath>

using namespace snagmap;

namespace {
constexpr double kDeg = 3.14159265358979323846 / 180;
const double kChip = chip_per_tooth_mm(7000, 18000, 2);
} // namespace

TEST(Engagement, FeedAndSpeedFollowTheTextbook) {
  EXPECT_NEAR(kChip, 0.19444, 5e-6);
  EXPECT_NEAR(cutting_speed_m_min(6, 18000), 339.3, 0.05);
  EXPECT_EQ(chip_per_tooth_mm(7000, 0, 2), 0);
}

TEST(Engagement, ChipTableForAStraightWall) {
  const struct {
    double ae, degrees, thickest, mean, teeth, make_up; // make-up: feed that keeps the chip as thick as fz
  } rows[] = {{0.3, 25.842, 0.08476, 0.04311, 0.144, 2.294},
              {0.6, 36.870, 0.11667, 0.06043, 0.205, 1.667},
              {1.5, 60.000, 0.16839, 0.09284, 0.333, 1.155},
              {3.0, 90.000, 0.19444, 0.12379, 0.5, 1},
              {6.0, 180.000, 0.19444, 0.12379, 1.0, 1}};
  for (const auto& row : rows) {
    const double phi = engaged_angle_rad(6, row.ae);
    EXPECT_NEAR(phi / kDeg, row.degrees, 5e-4);
    EXPECT_NEAR(thickest_chip_mm(kChip, phi), row.thickest, 6e-6);
    EXPECT_NEAR(kChip / thickest_chip_mm(kChip, phi), row.make_up, 5e-4);
    EXPECT_NEAR(mean_chip_mm(kChip, phi), row.mean, 6e-6);
    EXPECT_NEAR(teeth_in_cut(2, phi), row.teeth, 5e-4);
  }
  EXPECT_EQ(mean_chip_mm(kChip, 0), 0);
  // The shop's shortcut fz sqrt(ae / D) for a light cut comes out of it: 0.04348 for 0.04311.
  EXPECT_NEAR(mean_chip_mm(kChip, engaged_angle_rad(6, 0.3)) / 0.04348, 1, 0.01);
}

TEST(Engagement, RoundWallsEngageMoreInsideAndLessOutside) {
  EXPECT_NEAR(engaged_angle_concave_rad(6, 1.5, 6) / kDeg, 82.819, 5e-4);
  EXPECT_NEAR(engaged_angle_concave_rad(6, 1.5, 4) / kDeg, 128.682, 5e-4);
  EXPECT_NEAR(engaged_angle_concave_rad(6, 0.5, 3.5) / kDeg, 94.780, 5e-4);
  EXPECT_NEAR(engaged_angle_convex_rad(6, 1.5, 6) / kDeg, 51.318, 5e-4);
  EXPECT_NEAR(engaged_angle_concave_rad(6, 1.5, 1e7), engaged_angle_rad(6, 1.5),
              1e-6); // straight in the limit
  EXPECT_NEAR(engaged_angle_convex_rad(6, 1.5, 1e7), engaged_angle_rad(6, 1.5), 1e-6);
  EXPECT_DOUBLE_EQ(engaged_angle_concave_rad(6, 0.5, 3), 180 * kDeg); // a plunge fills its hole
}

TEST(Engagement, WallRunsFasterThanTheCentreInside) {
  EXPECT_DOUBLE_EQ(wall_speed_mm_min(7000, 6, 6, true), 14000);
  EXPECT_DOUBLE_EQ(wall_speed_mm_min(7000, 6, 4, true), 28000);
  EXPECT_LT(wall_speed_mm_min(7000, 6, 6, false), 7000);
}

TEST(Engagement, HelixLagAndSteadyDepth) {
  EXPECT_NEAR(helix_lag_rad(6, 30 * kDeg, 6) / kDeg, 66.16, 0.005);
  EXPECT_NEAR(helix_lag_rad(20, -30 * kDeg, 6) / kDeg, 220.53, 0.005);
  EXPECT_NEAR(helix_lag_rad(40, 30 * kDeg, 6) / kDeg, 441.06, 0.005);
  EXPECT_NEAR(steady_depth_mm(6, 2, 30 * kDeg), 16.324, 5e-4);
  EXPECT_NEAR(steady_depth_mm(6, 2, 15 * kDeg), 35.174, 5e-4);
  EXPECT_NEAR(steady_depth_mm(6, 2, 45 * kDeg), 9.425, 5e-4);
  EXPECT_TRUE(std::isinf(steady_depth_mm(6, 2, 0)));
}
