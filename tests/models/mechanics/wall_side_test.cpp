// Against the tooth forces of the textbook (Altintas, Manufacturing Automation): feed along +x, angle from
// +y, clockwise spindle, Fx = -Ft cos - Fr sin, Fy = Ft sin - Fr cos on the tool, Fr = K Ft.
#include "models/mechanics/wall_side.hpp"

#include "models/mechanics/engagement.hpp"
#include "tests/find_cutter.hpp"

#include <gtest/gtest.h>

#include <cmath>

using namespace snagmap;

namespace {

constexpr double kPi = 3.14159265358979323846, kDeg = kPi / 180;
constexpr EdgeForce kThin = EdgeForce::follows_chip, kThick = EdgeForce::saturated;

/// Mean of Fy on the tool over a turn, summed tooth position by tooth position. A conventional cut has its
/// wall at +y and runs from angle 0; a climb cut has it at -y and ends at 180 degrees.
double mean_Fy(double engaged_rad, double thrust, bool climb, EdgeForce force) {
  constexpr int kSteps = 20000;
  double sum = 0;
  for (int i = 0; i < kSteps; ++i) {
    const double phi = (climb ? kPi - engaged_rad : 0) + engaged_rad * (i + 0.5) / kSteps;
    const double Ft = force == kThin ? std::sin(phi) : 1;
    sum += Ft * std::sin(phi) - thrust * Ft * std::cos(phi);
  }
  return sum * engaged_rad / kSteps / (2 * kPi);
}

} // namespace

TEST(WallSide, AConventionalCutPullsItsWallInPastTheWorkedAngles) {
  const struct {
    double thrust, degrees, share; // of the diameter
  } rows[] = {{0.3, 25.1, 0.047}, {0.6, 46.9, 0.159}, {1.0, 69.1, 0.322}};
  for (const auto& row : rows) {
    const double phi = pull_begins_rad(row.thrust, kThin);
    EXPECT_NEAR(phi / kDeg, row.degrees, 0.05); // as many digits as are given
    EXPECT_NEAR((1 - std::cos(phi)) / 2, row.share, 5e-4);
    EXPECT_NEAR(engaged_angle_rad(6, 6 * (1 - std::cos(phi)) / 2), phi, 1e-9);
    EXPECT_LT(mean_Fy(phi - 0.01, row.thrust, false, kThin), 0);
    EXPECT_GT(mean_Fy(phi + 0.01, row.thrust, false, kThin), 0);
  }
  EXPECT_EQ(pull_begins_rad(0, kThin), 0);
  EXPECT_EQ(pull_begins_rad(-0.2, kThick), 0);
}

// The tool is drawn to a wall exactly as the wall is to the tool; the climb wall lies at -y. The sum over
// 20,000 steps has an error of about its step squared.
TEST(WallSide, TheForceIsTheMeanOfTheTeeth) {
  for (const EdgeForce force : {kThin, kThick})
    for (const bool climb : {false, true})
      for (const double thrust : {-0.3, 0.0, 0.3, 1.0})
        for (const double degrees : {5.0, 33.0, 90.0, 135.0, 180.0})
          EXPECT_NEAR(wall_pull(degrees * kDeg, thrust, climb, force),
                      (climb ? -1 : 1) * mean_Fy(degrees * kDeg, thrust, climb, force), 1e-8);
}

TEST(WallSide, AClimbCutPushesItsWallAwayWhateverItsWidth) {
  for (const EdgeForce force : {kThin, kThick})
    for (double degrees = 1; degrees <= 180; degrees += 1)
      EXPECT_LT(wall_pull(degrees * kDeg, 0.3, true, force), 0) << degrees;
}

TEST(WallSide, SaturatedChipsTurnLaterThanThinOnes) {
  for (double thrust = 0.05; thrust < 3; thrust += 0.05) {
    const double thick = pull_begins_rad(thrust, kThick);
    EXPECT_GT(thick, pull_begins_rad(thrust, kThin)) << thrust;
    EXPECT_NEAR(wall_pull(thick, thrust, false, kThick), 0, 1e-12);
  }
}

// Merchant's geometry at friction 0.3: a keen rake pulls, a blunt one pushes. The tangent of a difference is
// the closed form. Means over 33 degrees: cos 0.95, sin 0.28, each to half of its last digit.
TEST(WallSide, KeenRakePullsTheWallBluntRakePushesIt) {
  for (const double rake : {10.0, 30.0}) {
    const double slope = std::tan(rake * kDeg);
    EXPECT_NEAR(thrust_ratio(rake, 0.3), (0.3 - slope) / (1 + 0.3 * slope), 1e-12);
  }
  EXPECT_NEAR(thrust_ratio(30, 0.3), -0.236, 5e-4);
  EXPECT_NEAR(thrust_ratio(10, 0.3), 0.117, 5e-4);
  const double turns = 33 * kDeg / (2 * kPi);
  EXPECT_NEAR(wall_pull(33 * kDeg, -0.236, false, kThick) / turns, 0.236 * 0.95 + 0.28, 0.0012 + 0.005);
  EXPECT_NEAR(wall_pull(33 * kDeg, 0.117, true, kThick) / turns, -0.117 * 0.95 - 0.28, 0.0006 + 0.005);
}

TEST(WallSide, WidthsAreThoseOfTheClosedForms) {
  CutterCard cutter = *snagmap::testing::find_cutter("flat-6-long"); // rake 10
  WallSides sides = wall_sides(cutter);
  // By the closed forms: thrust 0.118 and thin chips 10.1 degrees; thrust 0.844 and saturated 80.3 degrees.
  // Two decimals of a millimetre are what is told.
  EXPECT_FALSE(sides.always_draws);
  EXPECT_NEAR(sides.draws_from_mm, 0.05, 0.005);
  EXPECT_NEAR(sides.draws_to_mm, 2.50, 0.005);
  EXPECT_EQ(sides.friction_low, 0.3);
  EXPECT_EQ(sides.friction_high, 1.2);
  EXPECT_EQ(sides.climb_draws_under_mm, 0);
  cutter.rake_deg = 20; // over the friction angle of 0.3, 16.7 degrees
  sides = wall_sides(cutter);
  EXPECT_EQ(sides.draws_from_mm, 0);
  EXPECT_GT(sides.climb_draws_under_mm, 0);
  cutter.rake_deg = 55; // over that of 1.2, 50.2 degrees, too
  EXPECT_TRUE(wall_sides(cutter).always_draws);
}
