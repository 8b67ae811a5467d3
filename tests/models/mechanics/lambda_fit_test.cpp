// Planted values come back: the check of an estimator against its own stated model.
#include "models/mechanics/lambda_fit.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

using namespace snagmap;

namespace {

const LambdaPrior kPrior{0.05, 2};

/// A comb of walls with Gammas from 1 to 12 (an edge at Lambda 0.08 to 1), cut with 10 % noise in S.
struct Coupons {
  std::mt19937_64 random;
  double uniform() { return (static_cast<double>(random() >> 11) + 0.5) / 9007199254740992.0; }
  double normal() {
    return std::sqrt(-2 * std::log(uniform())) * std::cos(6.28318530717958647692 * uniform());
  }
  std::vector<WallReading> walls(double lambda, int n, double m) {
    std::vector<WallReading> readings;
    for (int i = 0; i < n; ++i) {
      const double gamma = std::pow(12, (i + 0.5) / n), s = lambda * gamma * std::exp(0.1 * normal());
      readings.push_back({gamma, s < 1   ? WallOutcome::held
                                 : s < m ? WallOutcome::marked
                                         : WallOutcome::torn});
    }
    return readings;
  }
};

} // namespace

TEST(LambdaFit, PlantedValueLiesInsideTheIntervalAboutNineTimesInTen) {
  Coupons coupons{std::mt19937_64(20240917)};
  int inside = 0;
  for (int k = 0; k < 100; ++k) {
    const double planted = 0.12 * std::pow(6, coupons.uniform()); // 0.12 to 0.72
    const LambdaFit fit = fit_lambda(coupons.walls(planted, 16, 1.2 + 2 * coupons.uniform()), kPrior);
    ASSERT_EQ(fit.bounds, Bounds::both);
    inside += fit.low <= planted && planted <= fit.high;
  }
  EXPECT_GE(inside, 85);
  EXPECT_LE(inside, 95);
}

TEST(LambdaFit, MoreWallsNarrowTheInterval) {
  Coupons coupons{std::mt19937_64(5)};
  double few = 0, many = 0;
  for (int k = 0; k < 30; ++k) {
    const LambdaFit a = fit_lambda(coupons.walls(0.3, 6, 1.6), kPrior),
                    b = fit_lambda(coupons.walls(0.3, 40, 1.6), kPrior);
    few += std::log(a.high / a.low), many += std::log(b.high / b.low);
  }
  EXPECT_LT(many, 0.6 * few);
}

TEST(LambdaFit, WrongReadingIsCalledOut) {
  Coupons coupons{std::mt19937_64(8)};
  auto readings = coupons.walls(0.3, 12, 1.6);
  EXPECT_TRUE(fit_lambda(readings, kPrior).disagree.empty());
  readings.push_back({1, WallOutcome::torn}); // a wall far on the safe side that is said to have torn
  EXPECT_EQ(fit_lambda(readings, kPrior).disagree, std::vector<int>{12});
}

TEST(LambdaFit, AllHeldOrNoneGivesOnlyABound) {
  const std::vector<WallReading> held{{2, WallOutcome::held}, {4, WallOutcome::held}};
  const LambdaFit upper = fit_lambda(held, kPrior);
  EXPECT_EQ(upper.bounds, Bounds::upper_only);
  // One wall decides: P(held) = Phi(-ln(4 Lambda)/0.1) = 5 % at ln(4 Lambda) = 0.16449 (normal tables).
  EXPECT_NEAR(upper.high, std::exp(0.164485) / 4, 1e-5);
  const LambdaFit lower = fit_lambda({{2, WallOutcome::torn}, {40, WallOutcome::marked}}, kPrior);
  EXPECT_EQ(lower.bounds, Bounds::lower_only);
  EXPECT_NEAR(lower.low, std::exp(-0.164485) / 2, 1e-5);
  EXPECT_TRUE(std::isinf(lower.high));
  EXPECT_EQ(fit_lambda({}, kPrior).bounds, Bounds::none);
}

TEST(LambdaFit, WallsNearTheEdgeAreExpectedToTellMore) {
  std::vector<double> near, far;
  for (int i = 0; i < 12; ++i)
    near.push_back(std::pow(40, (i + 0.5) / 12) / 2), far.push_back(1e-3 * (i + 1));
  EXPECT_LT(expected_narrowing(near, kPrior), 0.3);
  EXPECT_NEAR(expected_narrowing(far, kPrior), 1, 1e-6);
}

TEST(LambdaFit, CardKeepsItsHistory) {
  const FoamCard soft = *find_foam("pu-22");
  LambdaFit fit;
  const double bound = 0.9 * soft.lambda.nominal;
  fit.bounds = Bounds::upper_only, fit.high = bound;
  const FoamCard card = with_fit(soft, fit, "comb of 12 walls");
  EXPECT_EQ(card.lambda.high, bound);
  EXPECT_EQ(card.lambda.nominal, bound);
  EXPECT_EQ(card.lambda.low, soft.lambda.low);
  ASSERT_EQ(card.history.size(), 1u);
  EXPECT_NE(card.history[0].find("comb of 12 walls"), std::string::npos);
  EXPECT_TRUE(with_fit(soft, LambdaFit{}, "nothing").history.empty());
}

TEST(LambdaFit, EvidenceIsTheMeanLikelihoodOverThePrior) {
  // One held wall: the mean of Phi(-(ln Lambda + ln Gamma)/0.1) over ln Lambda from -1 to 1 is a half at
  // Gamma 1 by symmetry, and the wall tells nothing at all when Gamma is tiny.
  const LambdaPrior prior{std::exp(-1.0), std::exp(1.0)};
  EXPECT_NEAR(log_evidence({{1, WallOutcome::held}}, prior), std::log(0.5), 1e-9);
  EXPECT_NEAR(log_evidence({{1e-6, WallOutcome::held}}, prior), 0, 1e-12);
}
