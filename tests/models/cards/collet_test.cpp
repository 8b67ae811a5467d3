// Sizes after ISO 15488; closing ranges and verdicts: common practice, no source.
#include "models/cards/collet.hpp"

#include <gtest/gtest.h>

using namespace snagmap;

TEST(Collet, VerdictsOfTheTrade) {
  const struct {
    double shank, bore, range;
    Fit fit;
  } rows[] = {{6.000, 6, 1, Fit::ok},
              {6.000, 6.35, 1, Fit::closes_some},
              {6.350, 7, 1, Fit::closes_some},
              {3.175, 4, 1, Fit::closes_much},
              {6.350, 6, 1, Fit::shank_too_large},
              {3.175, 3, 0.5, Fit::shank_too_large},
              {8.000, 7.9375, 1, Fit::shank_too_large},
              {6.000, 8, 1, Fit::shank_too_small},
              {3.000, 4, 0.5, Fit::shank_too_small}};
  for (const auto& row : rows) {
    const Fit fit = collet_fit(row.shank, row.bore, row.range);
    EXPECT_EQ(fit, row.fit) << row.shank << " in " << row.bore << ": " << to_text(fit);
    EXPECT_EQ(refused(fit), row.fit == Fit::shank_too_large || row.fit == Fit::shank_too_small);
  }
  EXPECT_EQ(collet_fit(5.992, 6, 1), Fit::ok); // h6
}

TEST(Collet, ClosingRangeFollowsSeriesAndBore) {
  EXPECT_EQ(*closing_range_mm("ER11", 4), 0.5);
  EXPECT_EQ(*closing_range_mm("ER20", 3), 0.5);
  EXPECT_EQ(*closing_range_mm("ER20", 6), 1.0);
  EXPECT_EQ(*closing_range_mm("ER32", 3), 1.0);
  EXPECT_FALSE(closing_range_mm("ER11", 8)); // takes shanks up to 7 mm
  EXPECT_FALSE(closing_range_mm("ER21", 6));
  EXPECT_STREQ(nearest_series("ER21").name, "ER11");
  EXPECT_STREQ(nearest_series("ER16").name, "ER16");
}

TEST(Collet, TwoThirdsMustBeClamped) {
  EXPECT_EQ(clamp_hold(10, 18), Hold::too_short);
  EXPECT_EQ(clamp_hold(12, 18), Hold::short_of_advice);
  EXPECT_EQ(clamp_hold(14.4, 18), Hold::good);
}

TEST(Collet, CriticalSpeedIsThatOfASteelCantilever) {
  // n = (60/2 pi) 1.8751^2 sqrt(E/rho) (d/4)/L^2 (any vibration handbook): 4.24e7 d/L^2.
  const struct {
    double d, L, rpm;
  } rows[] = {{6, 60, 70600}, {6, 80, 39700}, {6, 100, 25400}, {4.8, 100, 20300}, {6, 120, 17700}};
  for (const auto& row : rows)
    EXPECT_NEAR(critical_speed_rpm(row.d, row.L) / row.rpm, 1, 0.003);
  EXPECT_EQ(whirl_of(12000, 25400), Whirl::clear);
  EXPECT_EQ(whirl_of(18000, 25400), Whirl::near);
  EXPECT_EQ(whirl_of(24000, 25400), Whirl::refuse);
}
