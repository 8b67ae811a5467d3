// Worked with the textbook formulas (Altintas, Manufacturing Automation; Machinery's Handbook): cutter 6 mm,
// 2 flutes, 18000 rpm, 7000 mm/min.
#include "models/mechanics/engagement.hpp"

#include <gtest/gtest.h>

using namespace snagmap;

namespace {
constexpr double kDeg = 3.14159265358979323846 / 180;
const double kChip = chip_per_tooth_mm(7000, 18000, 2);
} // namespace

TEST(Engagement, FeedForEachToothFollowsTheTextbook) {
  EXPECT_NEAR(kChip, 0.19444, 5e-6);
  EXPECT_EQ(chip_per_tooth_mm(7000, 0, 2), 0);
}

TEST(Engagement, ChipTableForAStraightWall) {
  const struct {
    double ae, degrees, mean, teeth;
  } rows[] = {{0.3, 25.842, 0.04311, 0.144},
              {0.6, 36.870, 0.06043, 0.205},
              {1.5, 60.000, 0.09284, 0.333},
              {3.0, 90.000, 0.12379, 0.5},
              {6.0, 180.000, 0.12379, 1.0}};
  for (const auto& row : rows) {
    const double phi = engaged_angle_rad(6, row.ae);
    EXPECT_NEAR(phi / kDeg, row.degrees, 5e-4);
    EXPECT_NEAR(mean_chip_mm(kChip, phi), row.mean, 6e-6);
    EXPECT_NEAR(teeth_in_cut(2, phi), row.teeth, 5e-4);
  }
  EXPECT_EQ(mean_chip_mm(kChip, 0), 0);
  // The shop's shortcut fz sqrt(ae / D) for a light cut comes out of it: 0.04348 for 0.04311.
  EXPECT_NEAR(mean_chip_mm(kChip, engaged_angle_rad(6, 0.3)) / 0.04348, 1, 0.01);
}
