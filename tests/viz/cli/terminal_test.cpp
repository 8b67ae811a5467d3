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
  made.reasons = {"flutes over the whole web"};
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
  preview.findings = {{"rapid-in-foam", false, 1, 0, {}, "noted"}};
  EXPECT_FALSE(alarms(preview, {}));
  preview.findings.push_back({"rapid-in-foam", true, 1, 0, {}, "stops"});
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
  EXPECT_EQ(
      spot_table(preview, {}),
      "    x mm  y mm  line     time  w mm  h mm  L mm     S  band          level        what makes it "
      "worse\n"
      "1  254.0  12.7   812  1:02:05   6.5  25.4  50.8  1.50  0.75 to 1.90  snags, open  flutes over the "
      "whole "
      "web\n");
  preview.scene.show_inch = true;
  EXPECT_EQ(spot_table(preview, {}),
            "     x in   y in  line     time   w in   h in   L in     S  band          "
            "level        what makes it worse\n"
            "1  10.000  0.500   812  1:02:05  0.256  1.000  2.000  1.50  0.75 to 1.90  "
            "snags, open  flutes over the whole web\n");
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
  preview.findings = {{"a", false, 0, {}, {}, "sheet is curled"},
                      {"b", true, 77, 65, {}, "rapid through foam"}};
  EXPECT_EQ(finding_list(preview, {}),
            "stop: line 77, 1:05: rapid through foam\nnote: whole job: sheet is curled\n");
}

TEST(Terminal, FindingsSpeakInchWhenTheSceneDoes) {
  Preview preview;
  preview.findings = {{"thin-chips", false, 1, 0, {}, "254 mm at 2540 mm/min, 0.254 mm a tooth"}};
  preview.scene.show_inch = true;
  EXPECT_EQ(finding_list(preview, {}), "note: line 1, 0:00: 10.000 in at 100 in/min, 0.010 in a tooth\n");
}

TEST(Terminal, ColumnsAlignByCharactersNotBytes) {
  EXPECT_EQ(aligned({{"\xC3\xBC", "1"}, {"ab", "22"}}, {false, true}), "\xC3\xBC    1\nab  22\n");
}
