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
