// Mean force and slope on a wall, against the textbook's averages and a sum tooth by tooth.
#include "models/tooth/wall_force.hpp"

#include "models/base/constants.hpp"

#include <gtest/gtest.h>

#include <cmath>

using namespace snagmap;

namespace {

ToothCut finish(double width_mm, bool climb, double thrust) {
  ToothCut cut;
  cut.radius_mm = 3.175, cut.feed_mm = 0.1, cut.flutes = 2;
  cut.arc = {0, std::acos(1 - width_mm / cut.radius_mm)};
  cut.climb = climb, cut.severing_MPa = 0.55, cut.thrust = thrust;
  return cut;
}

/// Force of all teeth across the wall, + toward the cutter, summed over a turn in small steps: each tooth
/// where it stands, its chip feed sin(angle) + nearer cos(angle), in a cut that is `wider` by so much.
double summed(const ToothCut& cut, double nearer_mm, double wider_mm) {
  const int steps = 100000;
  const double end =
      cut.arc.to_rad >= kPi ? kPi : std::acos(std::cos(cut.arc.to_rad) - wider_mm / cut.radius_mm);
  double sum = 0;
  for (int n = 0; n < steps; ++n)
    for (int tooth = 0; tooth < cut.flutes; ++tooth) {
      const double at = std::fmod(2 * kPi * (n + 0.5) / steps + 2 * kPi * tooth / cut.flutes, 2 * kPi);
      if (at > end)
        continue;
      const double chip = cut.feed_mm * std::sin(at) + nearer_mm * std::cos(at);
      double force = cut.severing_MPa * chip;
      if (cut.saturated_N_mm > 0)
        force = std::min(force, cut.saturated_N_mm);
      // The tooth drags the wall along its way, inward when it leaves (conventional), and thrusts it outward.
      sum += force * ((cut.climb ? -1 : 1) * std::sin(at) - cut.thrust * std::cos(at));
    }
  return sum / steps;
}

} // namespace

// Altintas, Manufacturing Automation, ch. 2: mean force across the feed of an end mill on up milling from 0
// to phi, F_y = z a c / (8 pi) [K_t (2 phi - sin 2 phi) + K_r cos 2 phi], from memory; derived again by the
// sum below.
TEST(ToothForce, MeanIsTheTextbooksAverage) {
  for (const double width : {0.5, 1.5, 3.175, 5.0, 6.35})
    for (const double thrust : {-0.2, 0.1, 0.6}) {
      const ToothCut cut = finish(width, false, thrust);
      const double phi = cut.arc.to_rad, kt = cut.severing_MPa, kr = thrust * kt;
      const double textbook = cut.flutes * cut.feed_mm / (8 * kPi) *
                              (kt * (2 * phi - std::sin(2 * phi)) + kr * (std::cos(2 * phi) - 1));
      EXPECT_NEAR(textbook, mean_wall_force(cut).q_N_mm, 1e-12 * kt);
    }
}

// The sum errs by the steps that straddle the arc's ends: one of 100,000 with at most the greatest force.
TEST(ToothForce, MeanSlopeAndMemoryAreThoseOfASumToothByTooth) {
  for (const bool climb : {false, true})
    for (const double saturated : {0.0, 0.03}) // of at most 0.055 N/mm
      for (const double width : {0.2, 1.5, 4.0, 6.0}) {
        ToothCut cut = finish(width, climb, 0.3);
        cut.flutes = 3;
        cut.saturated_N_mm = saturated;
        const WallForce mean = mean_wall_force(cut);
        const double step = 0.01, straddle = 2 * 3 * 0.055 / 100000;
        EXPECT_NEAR(summed(cut, 0, 0), mean.q_N_mm, straddle);
        // Central differences: their own error is of the third derivative, step^2 / 6 of it over lengths of
        // the width (slope) and of the chip's kinks (memory): 1 % of the larger terms.
        const double slope = (summed(cut, 0, step) - summed(cut, 0, -step)) / (2 * step);
        EXPECT_NEAR(slope, mean.slope_MPa, straddle / step + 0.01 * std::abs(slope)) << width << climb;
        const double near = 1e-4;
        const double memory = (summed(cut, near, 0) - summed(cut, -near, 0)) / (2 * near);
        EXPECT_NEAR(memory, mean.regenerative_MPa, 2 * straddle / near + 0.01 * std::abs(memory));
      }
}

// The angle at which thrust and drag balance: tan(engaged angle) = thrust, from the slope's formula.
TEST(ToothForce, ConventionalPullsWhereTheTangentPassesTheThrustAndClimbNeverDoes) {
  const double thrust = 0.4, edge = 3.175 * (1 - std::cos(std::atan(thrust)));
  EXPECT_LT(mean_wall_force(finish(0.99 * edge, false, thrust)).slope_MPa, 0);
  EXPECT_GT(mean_wall_force(finish(1.01 * edge, false, thrust)).slope_MPa, 0);
  for (const double width : {0.1, 1.0, 3.0})
    EXPECT_LT(mean_wall_force(finish(width, true, thrust)).slope_MPa, 0);
}

TEST(ToothForce, FullSlotWidensNoFurther) {
  EXPECT_EQ(0, mean_wall_force(finish(6.35, false, 0.1)).slope_MPa);
}

// What the periodic system is made of sums up to the mean: all angles of a turn, in pieces, either way round.
TEST(ToothForce, PiecesOfATurnSumToTheMean) {
  for (const bool climb : {false, true}) {
    ToothCut cut = finish(1.5, climb, 0.2);
    cut.saturated_N_mm = 0.04;
    const WallForce mean = mean_wall_force(cut);
    for (const double way : {1.0, -1.0}) {
      double memory = 0, widening = 0;
      for (int n = 0; n < 37; ++n) {
        const double a = 11 + way * 2 * kPi * n / 37, b = 11 + way * 2 * kPi * (n + 1) / 37;
        memory += regenerative_over(cut, a, b), widening += widening_over(cut, a, b);
      }
      EXPECT_NEAR(way * mean.regenerative_MPa * 2 * kPi / cut.flutes, memory, 1e-12);
      EXPECT_NEAR(way * mean.slope_MPa * 2 * kPi / cut.flutes, widening, 1e-12);
    }
  }
}

// S's own law has no feed in it; this one is proportional to it until chips saturate.
TEST(ToothForce, HalfTheFeedPullsHalfAsHard) {
  ToothCut cut = finish(1.5, false, 0.1);
  const WallForce whole = mean_wall_force(cut);
  cut.feed_mm /= 2;
  EXPECT_NEAR(0.5 * whole.slope_MPa, mean_wall_force(cut).slope_MPa, 1e-15);
  EXPECT_NEAR(whole.regenerative_MPa, mean_wall_force(cut).regenerative_MPa, 1e-15);
}
