// Jobs side by side: the numbers, and a ratio whose shared unknowns drop out.
#include "sim/study/compare.hpp"

#include "sim/answer/same_webs.hpp"

#include "tests/sim/comb.hpp"

#include <gtest/gtest.h>

#include <algorithm>

using namespace snagmap;

namespace {

Preview comb_with(double flutes_mm, const std::string& foam) {
  comb::Job job{{8, 12, 16}};
  job.flute_length_mm = flutes_mm;
  job.foam = foam;
  return comb::run(job);
}

} // namespace

// In one foam Lambda stands above and below the line: the ratio is Gamma over Gamma and has no band from it.
TEST(Compare, InOneFoamTheRatioHasNoBandOfLambda) {
  const Banded lambda{0.3, 0.2, 0.45, "the test", false};
  const SnagRatio ratio = snag_ratio(1.5, lambda, 6, lambda);
  EXPECT_DOUBLE_EQ(ratio.nominal, 0.25);
  EXPECT_DOUBLE_EQ(ratio.low, 0.25);
  EXPECT_DOUBLE_EQ(ratio.high, 0.25);
}

// Between foams the ends go together, low with low; two independent bands would claim 0.2 x 0.1 / 0.45 to the
// contrary.
TEST(Compare, BetweenFoamsTheEndsGoTogether) {
  const Banded a{0.3, 0.2, 0.45, "the test", false}, b{0.1, 0.06, 0.18, "the test", false};
  const SnagRatio ratio = snag_ratio(2, b, 2, a);
  EXPECT_NEAR(ratio.nominal, 1.0 / 3, 1e-12);
  EXPECT_NEAR(ratio.low, 0.06 / 0.2, 1e-12);
  EXPECT_NEAR(ratio.high, 0.18 / 0.45, 1e-12);
  EXPECT_GT(ratio.low, 0.06 / 0.45);
  EXPECT_LT(ratio.high, 0.18 / 0.2);
}

/// Three cases of one comb, numbered alike.
struct ThreeCombs {
  Preview pu = comb_with(22, "pu-22"), stub = comb_with(6.35, "pu-22"), firm = comb_with(22, "pe-32");
  ThreeCombs() { keep_numbers(pu, stub), keep_numbers(pu, firm); }
  Comparison compared() const { return compare({"long", "stub", "firm"}, {&pu, &stub, &firm}); }
};

TEST(Compare, SetsTheSameWebsOfEveryCaseSideBySide) {
  const Comparison all = ThreeCombs().compared();
  ASSERT_EQ(all.cases.size(), 3u);
  ASSERT_FALSE(all.webs.empty());
  for (const ComparedWeb& web : all.webs) {
    ASSERT_EQ(web.cases.size(), 3u);
    for (const WebInCase& one : web.cases)
      if (one.seen && web.cases.front().seen) {
        EXPECT_NEAR(one.w_mm, web.cases.front().w_mm, 0.1) << web.web;
        EXPECT_NEAR(one.to_first.nominal, one.s / web.cases.front().s, 1e-9) << web.web;
      }
  }
  const ComparedWeb& worst = all.webs.front();
  EXPECT_NEAR(worst.cases[0].w_mm, 8, 0.1);
  ASSERT_TRUE(worst.shared());
  EXPECT_LT(worst.cases[1].to_first.nominal, 0.5);
  EXPECT_LT(worst.cases[2].to_first.nominal, 1);
  EXPECT_NEAR(worst.cases[1].to_first.high, worst.cases[1].to_first.low, 1e-12);
  EXPECT_GT(worst.cases[2].to_first.high, worst.cases[2].to_first.low);
  EXPECT_GT(all.cases[0].numbers.webs_snagging, all.cases[1].numbers.webs_snagging);
  EXPECT_EQ(all.cases[1].cleared, all.cases[0].numbers.webs_snagging - all.cases[1].numbers.webs_snagging);
  EXPECT_EQ(all.cases[1].added, 0);
  EXPECT_EQ(all.cases[0].over_first, 1);
  EXPECT_GE(all.cases[1].over_first, all.cases[1].over_first_least);
  EXPECT_LE(all.cases[1].over_first, all.cases[1].over_first_most);
  // Real time and strands are those of the one program.
  EXPECT_EQ(all.cases[0].numbers.time_s, all.cases[2].numbers.time_s);
  EXPECT_GT(all.cases[0].numbers.longest_run_mm, 0);
}

// The thinnest web need not decide: a ridge of 3 mm that is 2 mm high holds in every case, and says nothing
// of what the stub clears.
TEST(Compare, AWebThatHoldsEverywhereIsNotCompared) {
  ThreeCombs combs;
  const auto ridge = [](Preview& preview) {
    Spot spot = preview.spots.front();
    spot.web = 99;
    spot.question.web.w_mm = 3, spot.question.web.h_mm = 2;
    spot.answer.s = 0.3, spot.answer.s_low = 0.2, spot.answer.s_high = 0.4, spot.answer.level = Level::firm;
    preview.spots.push_back(spot);
  };
  ridge(combs.pu), ridge(combs.stub), ridge(combs.firm);
  for (const ComparedWeb& web : combs.compared().webs)
    EXPECT_NE(web.web, 99);
}

TEST(Compare, FilesHoldEveryCase) {
  const Preview pu = comb_with(22, "pu-22"), stub = comb_with(6.35, "pu-22");
  const Comparison both = compare({"long, \"22\"", "stub"}, {&pu, &stub});
  const std::string csv = compare_csv(both), json = compare_json(both);
  EXPECT_EQ(std::count(csv.begin(), csv.end(), '\n'), 3);
  const std::string head = csv.substr(0, csv.find('\r')), last = csv.substr(csv.rfind("\nstub,") + 1);
  EXPECT_EQ(std::count(head.begin(), head.end(), ','), std::count(last.begin(), last.end(), ','));
  EXPECT_NE(json.find("\"s_over_first\""), std::string::npos);
  const std::string webs = compared_webs_csv(both);
  EXPECT_EQ(std::count(webs.begin(), webs.end(), '\n'),
            static_cast<std::ptrdiff_t>(1 + 2 * both.webs.size()));
  EXPECT_EQ(json, compare_json(compare({"long, \"22\"", "stub"}, {&pu, &stub})));
}
