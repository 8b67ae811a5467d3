// Advice on small jobs with one planted cause each: the top advice is the planted cure, and a run of its own
// confirms it.
#include "tests/sim/advice/advice_jobs.hpp"
#include "tests/sim/program/rs274_witness.hpp"

#include <algorithm>
#include <random>
#include <regex>
#include <sstream>

using namespace snagmap;
using namespace snagmap::advice_jobs;

TEST(Advice, LongFlutesAreCuredByTheStubOfTheDrawer) {
  Scene scene = sheet_of(100, 70, "flat-6.35-long");
  scene.drawer = {*snagmap::testing::find_cutter("flat-6.35-stub")};
  const Preview found = run(scene, path_of(thin_wall(7)));
  ASSERT_GT(job_numbers(found).webs_snagging, 0);
  const AdviceList list = advise(found, {});
  expect_top(list, LeverKind::cutter);
  scene.cutters = scene.drawer;
  EXPECT_EQ(job_numbers(run(scene, found.path)).webs_snagging, 0);
}

// The drawer's stub is set so deep in its collet that the nut dips into the foam of a pocket 20 mm deep.
TEST(Advice, ACutterThatClearsTheWebAndDipsItsNutIsATradeAndNoHelp) {
  Scene scene = sheet_of(100, 70, "flat-6.35-long");
  scene.drawer = {*snagmap::testing::find_cutter("flat-6.35-stub")};
  scene.drawer.front().stick_out_mm = 16, scene.drawer.front().neck_length_mm = 9;
  const Preview found = run(scene, path_of(thin_wall(7)));
  ASSERT_GT(job_numbers(found).webs_snagging, 0);
  const AdviceList list = advise(found, {});
  for (const Advice& one : list.ranked)
    EXPECT_TRUE(kind_of(one.lever) != LeverKind::cutter);
  const auto stub = std::find_if(list.trades.begin(), list.trades.end(),
                                 [](const Advice& one) { return kind_of(one.lever) == LeverKind::cutter; });
  ASSERT_NE(stub, list.trades.end());
  EXPECT_EQ(stub->after.webs_snagging, 0);
  EXPECT_GT(stub->after.stops, list.before.stops);
  EXPECT_FALSE(stub->better.empty());
  EXPECT_FALSE(stub->worse.empty());
}

// The wall is long, so that its ends, which the watch knows to half a step, do not decide.
TEST(Advice, AThinWebWithNothingInTheDrawerMustBeWider) {
  const auto with_web = [](double web_mm) {
    return run(sheet_of(120, 160, "flat-6.35-long"), path_of(thin_wall(web_mm, 130)));
  };
  const Preview found = with_web(12);
  ASSERT_GT(job_numbers(found).webs_snagging, 0);
  const AdviceList list = advise(found, {});
  expect_top(list, LeverKind::wider_web);
  EXPECT_EQ(list.ranked.front().after.webs_snagging, 0);
  // The width told, drawn and cut: the web holds, and one 2 % thinner would not.
  const double told = std::get<lever::WiderWebs>(list.ranked.front().lever).webs.front().w_mm;
  EXPECT_EQ(job_numbers(with_web(1.01 * told)).webs_snagging, 0) << told;
  EXPECT_GT(job_numbers(with_web(0.98 * told)).webs_snagging, 0) << told;
}

// The stub opens both pockets; the long cutter finishes the first one's wall when nothing stands behind it
// any more.
TEST(Advice, AFinishThatComesTooLateIsMovedBeforeTheOtherPocket) {
  Scene scene = sheet_of(100, 70, "flat-6.35-stub");
  scene.cutters.push_back(*snagmap::testing::find_cutter("flat-6.35-long"));
  scene.tool_index = {{1, 0}, {2, 1}};
  const std::vector<double> levels{5, 10, 15, 20};
  const std::string nc = std::string("G21 G90 G17\nT1 M6\nM3 S18000\nG0 Z5\n") +
                         pocket(29, 20, 34, 44, levels) +
                         pocket(35 + 6.35 + 7, 20, 41 + 6.35 + 7, 44, levels) + "M5\nT2 M6\nM3 S18000\n" +
                         pocket(29, 20, 35, 44, {20}) + "M5\nM30\n";
  const Preview found = run(scene, path_of(nc, {{1, 0}, {2, 1}}));
  ASSERT_GT(job_numbers(found).webs_snagging, 0);
  const AdviceList list = advise(found, {});
  expect_top(list, LeverKind::order);
  EXPECT_EQ(list.ranked.front().after.webs_snagging, 0);
}

// Strands alarm nobody by themselves: lifts gain and cost, and both are told.
TEST(Advice, ALongSlotsStrandIsTradedForTimeByLifts) {
  const Preview found =
      run(sheet_of(500, 60, "flat-6.35-long"),
          path_of(std::string(kHead) + "G0 X30 Y30\nG1 Z-5 F1500\nG1 X470 F3000\nG0 Z5\nM5\nM30\n"));
  ASSERT_GT(job_numbers(found).long_runs, 0);
  const AdviceList list = advise(found, {});
  EXPECT_TRUE(list.ranked.empty());
  ASSERT_FALSE(list.trades.empty());
  EXPECT_EQ(kind_of(list.trades.front().lever), LeverKind::lift);
  EXPECT_EQ(list.trades.front().after.long_runs, 0);
}

// A pocket cleared from the middle outward in one long way: the other levers for strands are tried beside
// lifts.
TEST(Advice, CrossCutsAndWallsFirstAreTriedOnAClearedPocket) {
  std::string nc = std::string(kHead) + "G0 X75 Y75\nG1 Z-5 F1500\n";
  for (double grow = 0; grow < 31; grow += 5)
    nc += fmt::format("G1 X{0} Y{0} F3000\nG1 X{1}\nG1 Y{1}\nG1 X{0}\nG1 Y{0}\n", 70 - grow, 80 + grow);
  const Preview found = run(sheet_of(150, 150, "flat-6.35-long"), path_of(nc + "G0 Z5\nM5\nM30\n"));
  ASSERT_GT(job_numbers(found).long_runs, 0);
  const AdviceList list = advise(found, {});
  for (const LeverKind key : {LeverKind::lift, LeverKind::cross_cuts, LeverKind::walls_first}) {
    const Advice* tried = nullptr;
    for (const auto* entries : {&list.ranked, &list.trades, &list.no_help})
      for (const Advice& one : *entries)
        if (kind_of(one.lever) == key)
          tried = &one;
    ASSERT_TRUE(tried) << to_text(key);
    EXPECT_GT(tried->added_s, 0) << to_text(key); // each costs travel
  }
}

// The written program, read by the reader and run from the start, is the job that was advised.
TEST(Advice, AnAdvisedProgramReadAgainIsTheAdvisedJob) {
  Scene scene = sheet_of(500, 60, "flat-6.35-long");
  for (int byte = 0; byte < 256; ++byte) // a title of any bytes stays within its comment
    scene.title += static_cast<char>(byte);
  scene.title += "\rG0 Z-200";
  const Preview found =
      run(scene, path_of(std::string(kHead) + "G0 X30 Y30\nG1 Z-5 F1500\nG1 X470 F3000\nG0 Z5\nM5\nM30\n"));
  AdviceOptions options; // the head is made once more when the lever's standing is known
  options.head = [](const Scene& of, const Advice& advice) {
    return std::vector<std::string>{of.title, std::string("told: ") + to_text(kind_of(advice.lever)) +
                                                  (advice.trades ? ", trades: 1" : "")};
  };
  const AdviceList list = advise(found, options);
  ASSERT_FALSE(list.trades.empty());
  const Advice& best = list.trades.front();
  ASSERT_EQ(best.program_file, "advice-1.nc");
  const std::string text = advised_program(best);
  EXPECT_NE(text.find("(told: lift, trades: 1)"), std::string::npos) << text;
  const JobNumbers again = job_numbers(run(scene, path_of(text)));
  EXPECT_EQ(again.long_runs, best.after.long_runs);
  EXPECT_EQ(again.longest_run_mm, best.after.longest_run_mm);
  EXPECT_EQ(again.time_s, best.after.time_s);
  if (snagmap::witness::has_rs274()) {
    ProgramOptions at_zero;
    at_zero.start_mm = {0, 0, 0};
    EXPECT_EQ(snagmap::witness::unlike_rs274(*parse_program(text, "advice.nc", at_zero),
                                             snagmap::witness::rs274(text)),
              "");
  }
  for (const char c : text)
    EXPECT_TRUE(c == '\n' || (c >= ' ' && c <= '~'));
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);)
    if (line.find("Z-200") != std::string::npos) {
      EXPECT_EQ(line.front(), '(') << line;
    }
}

TEST(Advice, TheBestIsSolvedIn3DLikeTheJobItself) {
  Scene scene = sheet_of(100, 70, "flat-6.35-long");
  scene.drawer = {*snagmap::testing::find_cutter("flat-6.35-stub")};
  PreviewOptions solid;
  solid.verify = SolveChoice::worst(2);
  const Outcome<Preview> found = preview_path(scene, path_of(thin_wall(7)), solid);
  ASSERT_TRUE(found);
  AdviceList list = advise(*found, {});
  ASSERT_FALSE(list.ranked.empty());
  EXPECT_FALSE(list.ranked.front().confirmed);
  ASSERT_TRUE(confirm_best(list, *found, solid));
  ASSERT_TRUE(list.ranked.front().confirmed && list.before_in_3d);
  scene.cutters = scene.drawer;
  const Outcome<Preview> cured = preview_path(scene, found->path, solid);
  ASSERT_TRUE(cured);
  EXPECT_EQ(list.ranked.front().confirmed->worst_s, job_numbers(*cured).worst_s);
  EXPECT_EQ(list.before_in_3d->worst_s, job_numbers(*found).worst_s);
}

TEST(Advice, AStripOfTapeIsCuredByMoreTape) {
  Scene scene = sheet_of(100, 70, "flat-6.35-long");
  scene.hold_down.kind = HoldDownKind::tape;
  scene.hold_down.tape_area_share = 0.002;
  scene.hold_down.tension_kPa.guess = scene.hold_down.shear_kPa.guess = scene.hold_down.peel_N_mm.guess =
      true;
  const Preview found =
      run(scene, path_of(std::string(kHead) + pocket(30, 20, 36, 26, {5, 10}) + "M5\nM30\n"));
  ASSERT_TRUE(job_numbers(found).hold_weak());
  const AdviceList list = advise(found, {});
  expect_top(list, LeverKind::tape);
  EXPECT_FALSE(list.ranked.front().after.hold_weak());
}

// Whatever stands under 'what would help' clears something and worsens nothing of that rank, and a lever that
// worsens something never stands there.
TEST(Advice, WhatHelpsMakesNoWebNoStopAndNoHoldWorse) {
  Scene scene = sheet_of(140, 110, "flat-6.35-long");
  scene.drawer = {*snagmap::testing::find_cutter("flat-6.35-stub")};
  scene.hold_down.kind = HoldDownKind::tape;
  scene.hold_down.tape_area_share = 0.01;
  std::string nc = thin_wall(7, 90);
  const AdviceList list = advise(run(scene, path_of(nc)), {});
  ASSERT_FALSE(list.ranked.empty());
  for (const Advice& one : list.ranked) {
    EXPECT_TRUE(one.webs.fresh.empty() && one.webs.harder.empty()) << to_text(kind_of(one.lever));
    EXPECT_LE(one.after.stops, list.before.stops) << to_text(kind_of(one.lever));
    if (one.after.hold_weak()) {
      EXPECT_GE(1.02 * one.after.hold_low, list.before.hold_low) << to_text(kind_of(one.lever));
    }
    EXPECT_GT(one.cleared, 0) << to_text(kind_of(one.lever));
  }
  for (const auto* entries : {&list.trades, &list.no_help})
    for (const Advice& one : *entries)
      EXPECT_TRUE(one.cleared == 0 || one.lost > 0) << to_text(kind_of(one.lever));
}
