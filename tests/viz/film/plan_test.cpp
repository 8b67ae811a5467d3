// Which moments a film shows, and clocks as people write them.
#include "viz/film/plan.hpp"

#include <gtest/gtest.h>

using namespace snagmap;

TEST(Film, ClocksAreReadAsTheyAreShown) {
  EXPECT_EQ(*parse_clock("3:10"), 190);
  EXPECT_EQ(*parse_clock("1:02:03"), 3723);
  EXPECT_EQ(*parse_clock("0:00"), 0);
  EXPECT_EQ(*parse_clock("190 s"), 190);
  EXPECT_EQ(*parse_clock("2 min"), 120);
  for (const char* wrong : {"3:", ":10", "3:60", "3:1x", "1:2:3:4", "-1:10", "", "soon"})
    EXPECT_FALSE(parse_clock(wrong)) << wrong;
}

TEST(Film, FramesGoFromTheFirstMomentToTheLastAtTheSpeedAskedFor) {
  FilmPlan plan;
  plan.from_s = 10, plan.to_s = 40, plan.speed = 3; // ten seconds of film
  EXPECT_EQ(plan.frames(), 10 * kFilmRate + 1);
  EXPECT_EQ(plan.time_s(0), 10);
  EXPECT_EQ(plan.time_s(plan.frames() - 1), 40);
  for (int i = 1; i < plan.frames(); ++i)
    ASSERT_NEAR(plan.time_s(i) - plan.time_s(i - 1), 3.0 / kFilmRate, 1e-9); // rounding of doubles near 40
}
