#include "models/base/crossing.hpp"

#include <cmath>
#include <gtest/gtest.h>

using namespace snagmap;

// The square root of two as IEEE 754 rounds it lies between the two neighbours that are found.
TEST(Crossing, EndsAtTwoNeighbouringNumbers) {
  const Crossing at = crossing(0, 2, [](double x) { return x * x < 2; });
  ASSERT_TRUE(at.found);
  EXPECT_EQ(at.high, std::nextafter(at.low, 2.0));
  EXPECT_LE(std::abs(at.middle() - std::sqrt(2.0)), std::nextafter(at.low, 2.0) - at.low);
}

TEST(Crossing, StopsWhereTheEndsAreCloseEnough) {
  int asked = 0;
  const Crossing at = crossing(
      0, 1024, [&](double x) { return ++asked, x < 3.25; }, 1);
  EXPECT_LE(at.high - at.low, 1);
  EXPECT_TRUE(at.low < 3.25 && at.high >= 3.25);
  EXPECT_EQ(asked, 2 + 10) << "1024 is 2^10";
}

TEST(Crossing, SaysThatThereIsNone) {
  EXPECT_FALSE(crossing(0, 1, [](double) { return true; }).found);
  EXPECT_FALSE(crossing(0, 1, [](double) { return false; }).found);
  EXPECT_FALSE(crossing(0, 1, [](double x) { return x > 0.5; }).found) << "the wrong way round";
}

// The fixed point of the cosine, 0.739085133215160641655 (OEIS A003957).
TEST(Crossing, ASmoothOneIsFoundInAHandfulOfQuestions) {
  int asked = 0;
  const Crossing at = smooth_crossing(
      0, 1.5, [&](double x) { return ++asked, x - std::cos(x); }, 1e-12);
  ASSERT_TRUE(at.found);
  EXPECT_LE(at.high - at.low, 1e-12);
  EXPECT_LE(at.low, 0.739085133215160641655);
  EXPECT_GE(at.high, 0.739085133215160641655);
  EXPECT_LE(asked, 14) << "halving asks 2 + 41";
}

TEST(Crossing, AJumpAndAKinkAreFoundAsWell) {
  for (const double jump : {1.0, 1e-9, 1e9}) {
    const Crossing at = smooth_crossing(
        0, 1, [&](double x) { return x < 0.3 ? -1e-12 : jump; }, 1e-9);
    EXPECT_TRUE(at.found && at.low < 0.3 && at.high >= 0.3 && at.high - at.low <= 1e-9) << jump;
  }
  // No value at all past 0.7.
  const Crossing kink = smooth_crossing(
      0.4, 1, [](double x) { return x > 0.7 ? 1e300 : std::abs(x - 0.4) - 0.2; }, 1e-9);
  EXPECT_NEAR(kink.low, 0.6, 1e-9);
  EXPECT_FALSE(smooth_crossing(
                   0, 1, [](double x) { return x + 1; }, 1e-9)
                   .found);
  EXPECT_FALSE(smooth_crossing(
                   0, 1, [](double x) { return x - 2; }, 1e-9)
                   .found);
}
