// The terminal's words, and what the exit status goes by.

#include "viz/terminal/lists.hpp"
#include "viz/terminal/page.hpp"
#include "viz/terminal/style.hpp"
#include "viz/words/wrapped.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <sstream>

using namespace snagmap;

namespace {

Spot spot(double s, double s_high, Level level) {
  Spot made;
  made.program_line = 812, made.time_s = 3725, made.place_mm = {254, 12.7, -25};
  made.question.web.w_mm = 6.5, made.question.web.h_mm = 25.4;
  made.question.web.d1_mm = 25.4, made.question.web.d2_mm = 25.4, made.question.web.b_p_mm = 4.6;
  made.question.contact = {0, 22};
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

TEST(Terminal, VerdictCountsWebsNotSpotsAndNeverSaysSafe) {
  Spot again = spot(1.4, 1.8, Level::snags);
  again.pass = 2; // another layer of the same web
  Spot other = spot(0.3, 0.4, Level::firm);
  other.web = 7;
  const Preview preview = with({spot(1.5, 1.9, Level::snags), again, other});
  EXPECT_EQ(headline(preview, answer_of(preview), {}), "1 of 2 webs snags.");
  const Preview calm = with({other});
  EXPECT_EQ(headline(calm, answer_of(calm), {}), "The one web is not predicted to snag.");
  const std::string all =
      terminal_page(calm, answer_of(calm), {}, {}) + last_lines(calm, answer_of(calm), {}, {});
  EXPECT_EQ(all.find("safe"), std::string::npos);
  Spot maybe = other;
  maybe.answer.s = 0.8, maybe.answer.s_high = 1.1, maybe.answer.level = Level::leans;
  const Preview open = with({maybe});
  EXPECT_EQ(headline(open, answer_of(open), {}),
            "The one web is not predicted to snag; but it may: its range reaches 1.");
  EXPECT_EQ(headline(open, answer_of(open), {Level::snags, true}),
            "1 of 1 web snags, by the upper end of each range.");
}

// --advise tries the drawer alone: a cutter of the cards is not said to be tried by it as things are.
TEST(Terminal, OnlyACutterOfTheDrawerIsLeftToAdvise) {
  const Preview preview = with({spot(1.5, 1.9, Level::snags)});
  JobAnswer answer = answer_of(preview);
  for (const bool drawer : {true, false}) {
    CutterTry one;
    one.name = "stub", one.drawer = drawer, one.clears = {preview.spots[0].web};
    answer.tries = {one};
    const std::string said = remedies(preview, answer).front();
    EXPECT_EQ(said.find("; --advise tries it whole") != std::string::npos, drawer) << said;
    EXPECT_EQ(said.find("put into the scene's drawer") != std::string::npos, !drawer) << said;
  }
}

TEST(Terminal, WebsStandInMillimetresOrInchAsTheSceneSays) {
  Preview preview = with({spot(1.5, 1.9, Level::snags)});
  preview.spots.front().web = 12;
  const auto joined = [](const std::vector<std::vector<std::string>>& rows) {
    std::string text;
    for (const auto& row : rows)
      for (const std::string& line : row)
        text += line + "\n";
    return text;
  };
  JobAnswer answer = answer_of(preview);
  answer.rows.front().least_w_mm = 7.4;
  EXPECT_EQ(joined(web_table(preview, answer, {}, {})),
            "web  where       thick  needs  high  S (range)         line\n"
            " 12  X 254 Y 13    6.5    7.4  25.4  1.50 (0.75-1.90)   812\n");
  preview.scene.show_inch = true;
  EXPECT_EQ(joined(web_table(preview, answer, {}, {})),
            "web  where             thick  needs   high  S (range)         line\n"
            " 12  X 10.000 Y 0.500  0.256  0.291  1.000  1.50 (0.75-1.90)   812\n");
}

TEST(Terminal, OnlyWhatAlarmsIsColouredAndOnlyWhenAsked) {
  Spot calm = spot(0.3, 0.4, Level::firm);
  calm.web = 2;
  const Preview preview = with({spot(1.5, 1.9, Level::snags), calm});
  const JobAnswer answer = answer_of(preview);
  EXPECT_EQ(terminal_page(preview, answer, {}, {}).find('\x1b'), std::string::npos);
  const auto table = web_table(preview, answer, {}, {true, 80});
  EXPECT_EQ(table[1][0].rfind("\x1b[1;38;2;213;50;20m", 0), 0u);
  EXPECT_EQ(table[2][0].find('\x1b'), std::string::npos);
}

namespace {

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);)
    lines.push_back(line);
  return lines;
}

/// A job of everything at once: many webs, findings with long sentences, notes, many cutters.
Preview crowded() {
  std::vector<Spot> spots;
  for (int web = 1; web <= 300; ++web) {
    spots.push_back(spot(4 - 0.01 * web, 5, Level::tears));
    spots.back().web = web;
  }
  Preview preview = with(std::move(spots));
  preview.scene.layers = {{*find_foam("pu-22"), 40}};
  for (int n = 0; n < 9; ++n) {
    preview.scene.cutters.push_back(cutter_cards().front());
    preview.findings.push_back(at_moment(fact::FeedOverAxes{2540, 1270, 254, 1, 0.1}, 1, 0, {}));
    preview.findings.push_back(at_moment(fact::RapidInFoam{Zone::flutes, 1, 1, 1}, 1, 0, {}, true));
    preview.notes.push_back(note::Remark{RemarkKind::axes_after_cycle, 0, {"G0"}, {}, {}});
    preview.assumptions.push_back({"", "[collet]", "", "none", {}, why::Source{"not given"}});
  }
  return preview;
}

} // namespace

TEST(Terminal, APageWithItsEndTakesAtMostTwentyFiveLinesOfItsColumnsWordsWhole) {
  const Preview full = crowded();
  for (const Preview* job : {&full}) {
    const JobAnswer answer = answer_of(*job);
    for (const std::size_t columns : {80, 100, 120}) {
      const TerminalStyle style{false, columns};
      const std::string text = terminal_page(*job, answer, {}, style) + last_lines(*job, answer, {}, style);
      const std::vector<std::string> lines = lines_of(text);
      EXPECT_LE(lines.size() + 1, kPageLines) << text; // one says where the result lies
      for (const std::string& line : lines)
        EXPECT_LE(line.size(), columns) << line;
      EXPECT_EQ(lines.front(), lines_of(headline(*job, answer, {}))[0].substr(0, lines.front().size()));
      EXPECT_NE(text.find("further web"), std::string::npos) << text;
    }
  }
}

TEST(Terminal, WordsAreNeverBroken) {
  const std::string text =
      "a tape-held sheet of polyurethane, of which some lifts: an-unbreakable-word-longer-"
      "than-the-line and more";
  for (const std::size_t columns : {10, 17, 24}) {
    std::string again;
    for (const std::string& line : wrapped(text, columns)) {
      EXPECT_LE(line.find(' ') == std::string::npos ? 0u : line.size(), columns);
      again += (again.empty() ? "" : " ") + line;
    }
    EXPECT_EQ(again, text);
  }
  EXPECT_TRUE(wrapped("", 20).empty());
}

TEST(Terminal, AFullTextHoldsEveryWebFindingAndNote) {
  const Preview job = crowded();
  const JobAnswer answer = answer_of(job);
  const std::string text = full_text(job, answer, {});
  for (const WebRow& row : answer.rows)
    EXPECT_NE(text.find(fmt::format("\n{:>3}  X", row.web)), std::string::npos) << row.web;
  for (const char* words : {"stop: line 1", "note: line 1", "note: axis words after G80", "assumed: "})
    EXPECT_NE(text.find(words), std::string::npos) << words;
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
      finding_list(preview, {false, 200}),
      "note: line 1, 0:00: the program asks for 100 in/min where the axes allow 50 in/min: 10.000 in in 1 "
      "place, 10.0 % of the feed path, run slower than written\n");
}

TEST(Terminal, ColumnsAlignByCharactersNotBytes) {
  EXPECT_EQ(aligned({{"\xC3\xBC", "1"}, {"ab", "22"}}, {false, true}), "\xC3\xBC    1\nab  22\n");
}
