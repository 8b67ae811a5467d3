// The cards' Lambda against the stored table of the features it is asked of, and a few of those judged anew.
#include "tests/sim/practice.hpp"

#include <gtest/gtest.h>

using namespace snagmap;

namespace {
const std::vector<practice::Row>& rows() {
  static const std::vector<practice::Row> stored =
      practice::stored_rows(std::string(SNAGMAP_ROOT) + "/scripts/practice.csv");
  return stored;
}
} // namespace

TEST(Practice, TheTableHoldsTheWholeSetAndThreeInFourAreFreeAllRound) {
  ASSERT_EQ(rows().size(), static_cast<std::size_t>(practice::kFeatures));
  int built_in = 0;
  for (int n = 0; n < practice::kFeatures; ++n) {
    const practice::Row& row = rows()[static_cast<std::size_t>(n)];
    EXPECT_EQ(row.feature.number, n);
    built_in += row.feature.ends == practice::Ends::built_in;
    for (std::size_t edge = 1; edge < practice::kEdges_mm.size(); ++edge)
      EXPECT_LT(row.by_formula[edge], row.by_formula[edge - 1]) << n; // a thicker one holds more
  }
  EXPECT_EQ(built_in, practice::kFeatures / 4);
}

// Median and 5 to 95 % of the Lambda at which the features just hold, at 15 to 19 mm; scripts/calibrate
// writes three figures.
TEST(Practice, SoftPolyurethanesLambdaIsWhatTheFeaturesSay) {
  std::vector<double> lambdas;
  for (const practice::Row& row : rows())
    for (std::size_t edge = 0; edge < practice::kEdges_mm.size(); ++edge)
      lambdas.push_back(row.lambda(edge));
  const Banded lambda = find_foam("pu-22")->lambda;
  for (const auto& [of_card, share] :
       {std::pair(lambda.low, 0.05), std::pair(lambda.nominal, 0.5), std::pair(lambda.high, 0.95)})
    EXPECT_NEAR(of_card, practice::quantile(lambdas, share), 0.00051) << share;
}

// One bite constant stands behind all cards: k_s goes with Gc, so Lambda = k_s/E with Gc/E. What E and Gc of
// a foam add is independent of it, and spreads add as squares of logarithms: never less than soft
// polyurethane's.
TEST(Practice, OtherFoamsFollowByGcOverE) {
  const FoamCard soft = *find_foam("pu-22");
  for (const FoamCard& card : foam_cards()) {
    EXPECT_NEAR(card.lambda.nominal,
                soft.lambda.nominal * card.Gc_N_mm.nominal / card.E_kPa.nominal /
                    (soft.Gc_N_mm.nominal / soft.E_kPa.nominal),
                1e-9)
        << card.name;
    EXPECT_GE(card.lambda.high / card.lambda.nominal, (1 - 1e-9) * soft.lambda.high / soft.lambda.nominal);
    EXPECT_GE(card.lambda.nominal / card.lambda.low, (1 - 1e-9) * soft.lambda.nominal / soft.lambda.low);
  }
}

// The formula's columns to the four decimals they are stored with; elements within the 2 % that their mesh
// may leave.
TEST(Practice, AFewFeaturesJudgedAnewGiveTheStoredNumbers) {
  const FoamCard foam = *find_foam("pu-22");
  for (const int n : {3, 8, 10, 24, 37}) {
    const practice::Row& stored = rows()[static_cast<std::size_t>(n)];
    const Outcome<practice::Row> again = practice::judge(practice::feature(n), foam, n == 8 ? 1 : 0);
    ASSERT_TRUE(again) << to_text(again.faults().front());
    for (std::size_t edge = 0; edge < practice::kEdges_mm.size(); ++edge)
      EXPECT_NEAR(again->by_formula[edge], stored.by_formula[edge], 2e-4 * stored.by_formula[edge]) << n;
    if (n == 8) { // its worst spot by the formula is the worst by elements too
      EXPECT_EQ(again->solved, 1);
      EXPECT_NEAR(again->gamma, stored.gamma, 0.02 * stored.gamma);
    }
  }
}
