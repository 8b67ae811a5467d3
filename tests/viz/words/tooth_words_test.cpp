// What is said of the teeth and of the two numbers side by side.
#include "viz/words/tooth_words.hpp"

#include <gtest/gtest.h>

using namespace snagmap;

namespace {

struct Case {
  Spot spot;
  WebTooth tooth;
};

Case case_of(double s, double t) {
  Case one;
  one.spot.answer.s = s, one.spot.answer.s_low = 0.9 * s, one.spot.answer.s_high = 1.1 * s;
  one.tooth.answered = true;
  one.tooth.t = t, one.tooth.t_low = 0.9 * t, one.tooth.t_high = 1.1 * t;
  one.tooth.growth = ToothGrowth::swings, one.tooth.push = ToothPush::pulled_in;
  one.tooth.f1_Hz = 200, one.tooth.f1_low_Hz = 140, one.tooth.f1_high_Hz = 245, one.tooth.tooth_Hz = 2000;
  return one;
}

bool has(const std::string& text, const char* words) {
  return text.find(words) != std::string::npos;
}

} // namespace

TEST(ToothWords, AgreementAndDisagreementAreSaidAsSuch) {
  for (const double s : {0.5, 2.0})
    for (const double t : {0.5, 2.0}) {
      const Case one = case_of(s, t);
      const std::string words = both_words(one.spot, one.tooth);
      EXPECT_EQ((s >= 1) != (t >= 1), has(words, "disagree")) << words;
      // A disagreement names what settles it; so does a band across the edge.
      EXPECT_EQ((s >= 1) != (t >= 1), has(words, "settles it")) << words;
      EXPECT_FALSE(has(words, "safe"));
    }
  Case open = case_of(0.5, 0.5);
  open.tooth.t_high = 3;
  EXPECT_TRUE(has(both_words(open.spot, open.tooth), "closes it"));
}

TEST(ToothWords, OtherSideIsNamedOnlyWhereItChangesTheAnswer) {
  Case one = case_of(0.5, 2);
  one.tooth.t_turned = 3;
  EXPECT_EQ("", side_words(one.tooth));
  one.tooth.t_turned = 0.2;
  EXPECT_TRUE(has(side_words(one.tooth), "climb")) << side_words(one.tooth);
  one.tooth.climb = true;
  EXPECT_TRUE(has(side_words(one.tooth), "conventional"));
}

TEST(ToothWords, ToothRateIsSpokenOfOnlyNearTheWebsOwn) {
  Case one = case_of(0.5, 2);
  EXPECT_FALSE(has(tooth_words(one.tooth, {}), "another speed"));
  one.tooth.tooth_Hz = 200;
  EXPECT_TRUE(has(tooth_words(one.tooth, {}), "in step"));
  one.tooth.tooth_Hz = 400;
  EXPECT_TRUE(has(tooth_words(one.tooth, {}), "twice"));
}

TEST(ToothWords, UnansweredWebSaysWhy) {
  WebTooth tooth;
  tooth.why_not = unsolved::SpindleStands{};
  EXPECT_TRUE(has(tooth_words(tooth, {}), "the spindle stands"));
}

TEST(ToothWords, NumbersPastTheScanClaimNoMore) {
  EXPECT_EQ("> 100 (5 to > 100)", tooth_band_text(100, 5, 300));
  EXPECT_EQ("0 (0 to < 0.01)", tooth_band_text(0, 0, 0.005));
}

TEST(ToothWords, CutThatIsNotDeepEnoughIsCalledShallow) {
  EXPECT_EQ("0.05 mm too deep", over_cut_words(0.05, {}));
  EXPECT_EQ("0.05 mm too shallow", over_cut_words(-0.05, {}));
}
