// Result files: what is written can be read back whole, and two writings are the same bytes.
#include "sim/results/results.hpp"

#include "sim/text/csv.hpp"

#include <algorithm>
#include <cmath>
#include <gtest/gtest.h>
#include <limits>
#include <nlohmann/json.hpp>
#include <set>

using namespace snagmap;

namespace {

Spot spot(int id, double s) {
  Spot made;
  made.id = id, made.web = 4, made.pass = 2;
  made.place_mm = {10.1, 20.2, -25};
  made.tip_mm = {13.3, 20.2, -25};
  made.normal = {1, 0};
  made.program_line = 1234, made.move = 1200;
  made.move_share = 1.0 / 3, made.time_s = 65.4321;
  made.a_mm = 22, made.feed_mm_min = 1954.3, made.chip_mm = 0.054, made.samples = 7;
  made.question.climb = id % 2 == 0;
  made.question.web.w_mm = 6.5, made.question.web.h_mm = 25;
  made.question.web.d1_mm = 40, made.question.web.d2_mm = 60;
  made.question.web.end1 = WebEnd::built_in;
  made.question.contact = {0.5, 22.5};
  for (int i = 0; i < kSlices; ++i)
    made.question.gap_mm[static_cast<std::size_t>(i)] = 0.1 * i;
  made.answer.gamma = 3.28, made.answer.s = s, made.answer.s_low = 0.75 * s, made.answer.s_high = 1.25 * s;
  made.answer.s_touch = 0.4 * s;
  made.answer.has_lean = s < 1;
  made.answer.lean_mm = 0.57, made.answer.lean_low_mm = -0.1, made.answer.lean_high_mm = 0.9;
  made.answer.u_max_mm = 1.2;
  made.answer.level = s >= 1 ? Level::tears : Level::leans;
  made.answer.open = true, made.answer.root_load_ratio = 0.8;
  made.answer.mode[3] = 0.25;
  made.reasons = {reason::FlutesPastPass{22, 16, 0.4}, reason::FreeEndNear{5}};
  return made;
}

Preview found() {
  Preview preview;
  preview.scene.title = "comb";
  preview.scene.program_file = "/somewhere/comb.nc";
  preview.scene.file = "/somewhere/scene.toml";
  preview.scene.sheet = {{0, 0, -40}, {300, 200, 0}};
  preview.scene.layers = {{foam_cards().front(), 40}};
  preview.scene.cutters = {cutter_cards().front()};
  preview.scene.machine = machine_cards().front();
  preview.path.moves.resize(5);
  preview.motion.start_s = {0, 1, 2, 3, 4, 5.5};
  WebFound web;
  web.id = 4, web.midline_mm = {{0, 0}, {50, 0.1}, {100, 0}};
  web.w_mm = 6.5, web.h_mm = 25, web.length_mm = 100, web.d1_mm = 40, web.d2_mm = 60;
  web.root_z_mm = -25, web.end1 = WebEnd::built_in, web.ring = true;
  preview.webs = {web};
  preview.spots = {spot(1, 1.7), spot(2, 0.6)};
  preview.spots[0].fe = SolidCheck{};
  preview.spots[0].fe->verified = true, preview.spots[0].fe->answer.level = Level::snags;
  preview.spots[0].fe->brick_mm[2] = 0.5;
  preview.spots[1].fe = SolidCheck{};
  preview.spots[1].fe->why_not = unsolved::UnderAVoxel{0.1, 0.2};
  preview.findings = {at_moment(fact::RapidInFoam{Zone::flutes, 2.5, 77, 80}, 77, 12.5, {1, 2, 3}, true)};
  preview.notes = {note::NoneSolved{}};
  preview.assumptions = {{"", "", "voxel", "", {{0.5, Dimension::length}}, why::Source{"not given"}}};
  preview.sample_count = 4321;
  preview.times = {{"cut", 0.25}};
  return preview;
}

} // namespace

TEST(Results, EveryValueOfASpotComesBackExactly) {
  const Preview from = found();
  const auto read = parse_result(result_json(from), "result.json");
  ASSERT_TRUE(read) << to_text(read.faults().front());
  ASSERT_EQ(read->spots.size(), 2u);
  for (std::size_t i = 0; i < 2; ++i) {
    const Spot &a = from.spots[i], &b = read->spots[i];
    EXPECT_EQ(a.id, b.id);
    EXPECT_EQ(a.web, b.web);
    EXPECT_EQ(a.pass, b.pass);
    EXPECT_EQ(a.place_mm.x, b.place_mm.x);
    EXPECT_EQ(a.tip_mm.z, b.tip_mm.z);
    EXPECT_EQ(a.normal.x, b.normal.x);
    EXPECT_EQ(a.program_line, b.program_line);
    EXPECT_EQ(a.move, b.move);
    EXPECT_EQ(a.move_share, b.move_share); // a third: shortest text that reads back to the same bits
    EXPECT_EQ(a.time_s, b.time_s);
    EXPECT_EQ(a.a_mm, b.a_mm);
    EXPECT_EQ(a.chip_mm, b.chip_mm);
    EXPECT_EQ(a.samples, b.samples);
    EXPECT_EQ(a.question.climb, b.question.climb);
    EXPECT_EQ(a.question.web.w_mm, b.question.web.w_mm);
    EXPECT_EQ(a.question.web.length_mm(), b.question.web.length_mm());
    EXPECT_EQ(a.question.web.end1, b.question.web.end1);
    EXPECT_EQ(a.question.web.end2, b.question.web.end2);
    EXPECT_EQ(a.question.contact.high_mm, b.question.contact.high_mm);
    EXPECT_EQ(a.question.gap_mm, b.question.gap_mm);
    EXPECT_EQ(a.answer.gamma, b.answer.gamma);
    EXPECT_EQ(a.answer.s_low, b.answer.s_low);
    EXPECT_EQ(a.answer.s_touch, b.answer.s_touch);
    EXPECT_EQ(a.answer.has_lean, b.answer.has_lean);
    EXPECT_EQ(a.answer.open, b.answer.open);
    EXPECT_EQ(a.answer.mode, b.answer.mode);
    EXPECT_EQ(a.s(), b.s());
    EXPECT_EQ(a.level(), b.level());
  }
  EXPECT_EQ(read->spots[1].answer.lean_low_mm, -0.1);
  EXPECT_EQ(read->spots[0].fe->brick_mm[2], 0.5);
  EXPECT_FALSE(read->spots[1].fe->verified);
}

TEST(Results, WhatWasNotSolvedSaysWhyAsData) {
  const auto json = nlohmann::json::parse(result_json(found()));
  const auto& fe = json.at("spots").at(1).at("fe");
  EXPECT_EQ(fe.at("why"), nlohmann::json({{"kind", "under-a-voxel"}, {"w_mm", 0.1}, {"voxel_mm", 0.2}}));
}

TEST(Results, SceneWebsAndFindingsComeBack) {
  const auto read = parse_result(result_json(found()), "result.json");
  ASSERT_TRUE(read);
  EXPECT_EQ(read->title, "comb");
  EXPECT_EQ(read->program, "comb.nc");
  EXPECT_EQ(read->foam, foam_cards().front().name);
  EXPECT_EQ(read->cutters, std::vector<std::string>{cutter_cards().front().name});
  EXPECT_EQ(read->sheet.low.z, -40);
  EXPECT_EQ(read->moves, 5u);
  EXPECT_EQ(read->samples, 4321u);
  EXPECT_EQ(read->time_s, 5.5);
  ASSERT_EQ(read->webs.size(), 1u);
  EXPECT_EQ(read->webs[0].midline_mm[1].y, 0.1);
  EXPECT_EQ(read->webs[0].end1, WebEnd::built_in);
  EXPECT_TRUE(read->webs[0].ring);
  ASSERT_EQ(read->findings.size(), 1u);
  EXPECT_EQ(read->findings[0].kind, FindingKind::rapid_in_foam);
  EXPECT_TRUE(read->findings[0].stops_job);
  ASSERT_TRUE(read->findings[0].place_mm);
  EXPECT_EQ(read->findings[0].place_mm->y, 2);
}

TEST(Results, TwoRunsGiveTheSameBytesWhateverTheClockAndTheFolder) {
  Preview slow = found();
  slow.times = {{"cut", 99}};
  slow.scene.program_file = "/elsewhere/comb.nc";
  slow.scene.folder = "/elsewhere";
  EXPECT_EQ(result_json(found()), result_json(slow));
  EXPECT_EQ(spots_csv(found()), spots_csv(slow));
  EXPECT_NE(timing_json(found()), timing_json(slow));
}

TEST(Results, LeanIsEmptyPastTheEdge) {
  const auto json = nlohmann::json::parse(result_json(found()));
  EXPECT_TRUE(json["spots"][0]["lean_mm"].is_null()); // S 1.7: millimetres mean nothing there
  EXPECT_EQ(json["spots"][1]["lean_mm"], 0.57);
}

TEST(Results, EveryNumberOfASpotThatHasAUnitNamesItInItsKey) {
  const auto json = nlohmann::json::parse(result_json(found()));
  // Counts, names, identities, ratios and flags carry no unit; everything else of a spot must.
  const std::vector<std::string> unitless{"id",
                                          "web",
                                          "pass",
                                          "normal",
                                          "program_line",
                                          "move",
                                          "move_share",
                                          "cutter",
                                          "side",
                                          "end1",
                                          "end2",
                                          "gamma",
                                          "gamma_residual",
                                          "s",
                                          "s_low",
                                          "s_high",
                                          "s_touch",
                                          "s_formula",
                                          "gamma_residual",
                                          "neck_rubs",
                                          "clamped",
                                          "level",
                                          "open",
                                          "mode",
                                          "root_load_ratio",
                                          "fill",
                                          "samples",
                                          "reason_values",
                                          "fe"};
  for (const auto& [key, value] : json["spots"][0].items()) {
    if (std::find(unitless.begin(), unitless.end(), key) != unitless.end())
      continue;
    const auto ends = [&key = key](const std::string& unit) {
      return key.size() > unit.size() && key.compare(key.size() - unit.size(), unit.size(), unit) == 0;
    };
    EXPECT_TRUE(ends("_mm") || ends("_s") || ends("_mm_min")) << key;
  }
}

TEST(Results, CsvHasAsManyFieldsInEveryLineAndDoublesQuotes) { // RFC 4180, sections 2.4 and 2.7
  const std::string csv = spots_csv(found());
  EXPECT_NE(csv.find("flutes-past-pass; free-end-near"),
            std::string::npos); // no sentences were handed in
  struct Quoting : Sentences {
    std::string words(const Fact&) const override { return ""; }
    std::string words(const Risk&) const override { return ""; }
    std::string words(const Reason&) const override { return "flutes over \"all\" of it, 22 mm"; }
    std::string words(const Unsolved&) const override { return ""; }
    std::string words(const Note&) const override { return ""; }
    std::string words(const Assumed&) const override { return ""; }
    std::string words(const Lever&) const override { return ""; }
    std::string words(const Change&) const override { return ""; }
    std::string words(const Untried&) const override { return ""; }
    std::string words(const Whereabouts&) const override { return "between, \"so to say\""; }
    std::string place(const RiskStop&) const override { return ""; }
    std::vector<std::string> steps(const RiskTimeline&, const RiskStop&) const override { return {}; }
    std::string stops_caution() const override { return ""; }
  };
  EXPECT_NE(spots_csv(found(), &static_cast<const Sentences&>(Quoting()))
                .find("\"flutes over \"\"all\"\" of it, 22 mm; flutes over \"\"all\"\" of it, 22 mm\"\r\n"),
            std::string::npos);
  std::vector<int> fields{1};
  bool quoted = false;
  for (std::size_t i = 0; i < csv.size(); ++i) {
    if (csv[i] == '"')
      quoted = !quoted;
    else if (!quoted && csv[i] == ',')
      ++fields.back();
    else if (!quoted && csv[i] == '\n' && i + 1 < csv.size())
      fields.push_back(1);
  }
  EXPECT_EQ(fields, (std::vector<int>{24, 24, 24}));
}

TEST(Results, TheTableOfWebsHoldsEachWebOnceAndAgreesWithTheSpotTable) {
  const Preview preview = found();
  const CsvTable table = parse_csv_rows(webs_csv(preview), "webs.csv", "web");
  EXPECT_TRUE(table.faults.empty());
  std::set<int> webs;
  for (const Spot& spot : preview.spots)
    webs.insert(spot.web);
  const std::string csv = webs_csv(preview);
  EXPECT_EQ(std::count(csv.begin(), csv.end(), '\n'), static_cast<long>(webs.size()) + 1);
  const auto json = nlohmann::json::parse(result_json(preview));
  for (const auto& web : json["webs"])
    for (const auto& spot : json["spots"])
      if (web.contains("worst_spot") && spot["id"] == web["worst_spot"]) {
        EXPECT_EQ(spot["web"], web["id"]);
        EXPECT_EQ(spot["s"], web["s"]);
        EXPECT_EQ(spot["level"], web["level"]);
      }
}

TEST(Results, BytesThatAreNoTextDoNotBreakTheFile) {
  Preview preview = found();
  preview.scene.title = "caf\xe9";
  const auto read = parse_result(result_json(preview), "r");
  ASSERT_TRUE(read);
  EXPECT_EQ(read->title, "caf\xef\xbf\xbd"); // U+FFFD
}

TEST(Results, NumbersThatAreNoneAreWrittenAsNullAndReadAsNone) {
  Preview preview = found();
  preview.spots[0].answer.root_load_ratio = std::numeric_limits<double>::infinity();
  const auto read = parse_result(result_json(preview), "r");
  ASSERT_TRUE(read) << to_text(read.faults().front());
  EXPECT_TRUE(std::isnan(read->spots[0].answer.root_load_ratio));
}

TEST(Results, FaultsOfAResultFileSayWhatIsWrong) {
  const auto words = [](const std::string& text) {
    return to_text(parse_result(text, "r.json").faults().front());
  };
  EXPECT_EQ(words("{\n \"schema\": 1,\n}"),
            "r.json:3:1: not JSON\n  a result file is written whole by a preview; run it again");
  EXPECT_EQ(words("{\"schema\": 99}"),
            "r.json: result of schema 99; this program reads schema 3\n  run the preview again");
  EXPECT_EQ(words("{\"schema\": 3}"),
            "r.json: not a result file: key 'snagmap_version' not found\n  run the preview again");
  EXPECT_EQ(words("[]"), "r.json: not a result file: cannot use at() with array\n  run the preview again");
  EXPECT_EQ(words(std::string(100000, '[')), "r.json: brackets nested deeper than 64: no result file");
  EXPECT_EQ(to_text(read_result("no/such/folder").faults().front()),
            "no/such/folder: no such file\n  give the output folder of a preview");
}

TEST(Results, CutAnywhereIsAFaultAndNeverACrash) {
  const std::string text = result_json(found());
  for (std::size_t i = 0; i + 2 < text.size(); i += 7)
    ASSERT_FALSE(parse_result(text.substr(0, i), "r")) << i;
}
