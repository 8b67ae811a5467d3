// The terminal's words, and what the exit status goes by.
#include "viz/cli/terminal.hpp"

#include <gtest/gtest.h>

using namespace snagmap;

namespace {

Spot spot(double s, double s_high, Level level) {
  Spot made;
  made.program_line = 812, made.time_s = 3725, made.place_mm = {254, 12.7, -25};
  made.question.web.w_mm = 6.5, made.question.web.h_mm = 25.4;
  made.question.web.d1_mm = 25.4, made.question.web.d2_mm = 25.4;
  made.answer.s = s, made.answer.s_low = s / 2, made.answer.s_high = s_high, made.answer.level = level;
  made.answer.root_load_ratio = 2;
  made.answer.open = made.answer.s_low < 1 && s_high >= 1;
  made.reasons = {reason::LeansOnNeck{}};
  return made;
}

Preview with(std::vector<Spot> spots) {
  Preview preview;
  preview.spots = std::move(spots);
  return preview;
}

} // namespace

TEST(Alarm, GoesByTheNominalLevelUnlessCautious) {
  const Preview leaning = with({spot(0.8, 1.1, Level::leans)});
  EXPECT_FALSE(alarms(leaning, {Level::snags, false}));
  EXPECT_TRUE(alarms(leaning, {Level::snags, true}));
  EXPECT_FALSE(alarms(leaning, {Level::tears, true})); // its root is the stronger link
  EXPECT_TRUE(alarms(leaning, {Level::leans, false}));
}

TEST(Alarm, CautiousNeverLowersALevel) {
  for (const Level level : {Level::firm, Level::leans, Level::snags, Level::tears})
    for (const double high : {0.1, 0.5, 0.99, 1.0, 3.0})
      EXPECT_GE(judged_level(spot(high, high, level), true), level);
}

TEST(Alarm, AFindingThatStopsTheJobAlarmsWithoutAnySpot) {
  Preview preview;
  preview.findings = {at_moment(fact::ShankRubs{1, 1, 1}, 1, 0, {})};
  EXPECT_FALSE(alarms(preview, {}));
  preview.findings.push_back(at_moment(fact::RapidInFoam{Zone::flutes, 1, 1, 1}, 1, 0, {}, true));
  EXPECT_TRUE(alarms(preview, {Level::tears, false}));
}

TEST(Terminal, VerdictNamesTheWorstSpotAndNeverSaysSafe) {
  EXPECT_EQ(verdict(with({spot(1.5, 1.9, Level::snags), spot(0.3, 0.4, Level::firm)}), {}),
            "1 spot at or above \"snags\"; the worst: S 1.50 at program line 812, 1:02:05 into the job. 1 "
            "open (the "
            "band crosses 1).\n");
  const std::string calm = verdict(with({spot(0.3, 0.4, Level::firm)}), {});
  EXPECT_EQ(calm, "No spot at or above \"snags\": predicted, with the stated uncertainty.\n");
  EXPECT_EQ((calm + cautions()).find("safe"), std::string::npos);
}

TEST(Terminal, TableSpeaksMillimetresOrInchAsTheSceneSays) {
  Preview preview = with({spot(1.5, 1.9, Level::snags)});
  EXPECT_EQ(spot_table(preview, {}),
            "    x mm  y mm  line     time  w mm  h mm  L mm     S  band          level        what makes it "
            "worse\n"
            "1  254.0  12.7   812  1:02:05   6.5  25.4  50.8  1.50  0.75 to 1.90  snags, open  leans against "
            "the neck\n");
  preview.scene.show_inch = true;
  EXPECT_EQ(spot_table(preview, {}),
            "     x in   y in  line     time   w in   h in   L in     S  band          "
            "level        what makes it worse\n"
            "1  10.000  0.500   812  1:02:05  0.256  1.000  2.000  1.50  0.75 to 1.90  "
            "snags, open  leans against the neck\n");
}

TEST(Terminal, TableCountsWhatItDoesNotShow) {
  const std::string table = spot_table(with(std::vector<Spot>(25, spot(0.3, 0.4, Level::firm))), {});
  EXPECT_NE(table.find("and 5 more, see spots.csv\n"), std::string::npos);
  EXPECT_EQ(spot_table(Preview{}, {}), "");
}

TEST(Terminal, OnlyWhatAlarmsIsColouredAndOnlyWhenAsked) {
  const Preview preview = with({spot(1.5, 1.9, Level::snags), spot(0.3, 0.4, Level::firm)});
  EXPECT_EQ(spot_table(preview, {}).find('\x1b'), std::string::npos);
  const std::string table = spot_table(preview, {true});
  EXPECT_NE(table.find("\x1b[1;38;2;213;50;20m1  254.0"), std::string::npos);
  EXPECT_NE(table.find("\n2  254.0"), std::string::npos);
}

TEST(Terminal, FindingsThatStopTheJobComeFirst) {
  Preview preview;
  preview.findings = {whole_job(fact::Crumbs{2, 100, 150}),
                      at_moment(fact::CutIntoTable{0.5}, 77, 65, {}, true)};
  EXPECT_EQ(finding_list(preview, {}),
            "stop: line 77, 1:05: the tip goes 0.50 mm below the sheet, into what it lies on\n"
            "note: whole job: 2 crumbs under 100 mm3 come free, 0.15 cm3 together\n");
}

TEST(Terminal, FindingsSpeakInchWhenTheSceneDoes) {
  Preview preview;
  preview.findings = {at_moment(fact::FeedOverAxes{2540, 1270, 254, 1, 0.1}, 1, 0, {})};
  preview.scene.show_inch = true;
  EXPECT_EQ(
      finding_list(preview, {}),
      "note: line 1, 0:00: the program asks for 100 in/min where the axes allow 50 in/min: 10.000 in in 1 "
      "place, 10.0 % of the feed path, run slower than written\n");
}

TEST(Terminal, ColumnsAlignByCharactersNotBytes) {
  EXPECT_EQ(aligned({{"\xC3\xBC", "1"}, {"ab", "22"}}, {false, true}), "\xC3\xBC    1\nab  22\n");
}
