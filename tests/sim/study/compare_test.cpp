// Jobs side by side: the numbers, and a ratio whose shared unknowns drop out.
#include "sim/study/compare.hpp"

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

TEST(Compare, SetsTheSameWebOfEveryCaseSideBySide) {
  const Preview pu = comb_with(22, "pu-22"), stub = comb_with(6.35, "pu-22"), firm = comb_with(22, "pe-32");
  const Comparison all = compare({"long", "stub", "firm"}, {&pu, &stub, &firm});
  ASSERT_EQ(all.cases.size(), 3u);
  EXPECT_NEAR(all.web_w_mm, 8, 0.1);
  for (const ComparedCase& one : all.cases) {
    ASSERT_TRUE(one.seen) << one.name;
    EXPECT_NEAR(one.w_mm, 8, 0.1);
    EXPECT_NEAR(one.to_first.nominal, one.s / all.cases.front().s, 1e-9) << one.name;
  }
  EXPECT_GT(all.cases[0].numbers.webs_snagging, all.cases[1].numbers.webs_snagging);
  EXPECT_LT(all.cases[1].to_first.nominal, 0.5);
  EXPECT_LT(all.cases[2].to_first.nominal, 1);
  EXPECT_NEAR(all.cases[1].to_first.high, all.cases[1].to_first.low, 1e-12);
  EXPECT_GT(all.cases[2].to_first.high, all.cases[2].to_first.low);
  // Real time and strands are those of the one program.
  EXPECT_EQ(all.cases[0].numbers.time_s, all.cases[2].numbers.time_s);
  EXPECT_GT(all.cases[0].numbers.longest_run_mm, 0);
}

TEST(Compare, FilesHoldEveryCase) {
  const Preview pu = comb_with(22, "pu-22"), stub = comb_with(6.35, "pu-22");
  const Comparison both = compare({"long, \"22\"", "stub"}, {&pu, &stub});
  const std::string csv = compare_csv(both), json = compare_json(both);
  EXPECT_EQ(std::count(csv.begin(), csv.end(), '\n'), 3);
  const std::string head = csv.substr(0, csv.find('\r')), last = csv.substr(csv.rfind("\nstub,") + 1);
  EXPECT_EQ(std::count(head.begin(), head.end(), ','), std::count(last.begin(), last.end(), ','));
  EXPECT_NE(json.find("\"s_over_first\""), std::string::npos);
  EXPECT_EQ(json, compare_json(compare({"long, \"22\"", "stub"}, {&pu, &stub})));
}
