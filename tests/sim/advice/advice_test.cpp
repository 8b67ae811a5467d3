// Advice on small jobs with one planted cause each: the top advice is the planted cure, and a run of its own
// confirms it.
#include "sim/advice/advice.hpp"

#include "sim/checks/job_checks.hpp"
#include "sim/path/edit.hpp"
#include "sim/program/program.hpp"
#include "sim/results/results.hpp"
#include "tests/sim/comb.hpp"
#include "tests/sim/program/rs274_witness.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <random>
#include <regex>
#include <sstream>

using namespace snagmap;

namespace {

Scene sheet_of(double x_mm, double y_mm, const std::string& cutter) {
  Scene scene;
  scene.sheet = {{0, 0, -40}, {x_mm, y_mm, 0}};
  scene.sheet_given = scene.thickness_given = true;
  scene.layers = {{*find_foam("pu-22"), 40}};
  scene.cutters = {*find_cutter(cutter)};
  scene.machine = machine_cards().front();
  scene.voxel_mm = 1;
  return scene;
}

Path path_of(const std::string& nc, std::map<int, int> tools = {}) {
  ProgramOptions options;
  options.tool_index = std::move(tools);
  const Outcome<Path> path = parse_program(nc, "job.nc", options);
  EXPECT_TRUE(path) << to_text(path.faults().front());
  return *path;
}

/// A pocket's wall round by one loop a pass, short enough that no strand is long.
std::string pocket(double x0, double y0, double x1, double y1, const std::vector<double>& levels) {
  std::string nc;
  for (const double z : levels)
    nc += fmt::format("G0 X{} Y{}\nG1 Z{} F1500\nG1 X{} F3000\nG1 Y{}\nG1 X{}\nG1 Y{}\nG0 Z5\n", x0, y0, -z,
                      x1, y1, x0, y0);
  return nc;
}

const char* const kHead = "G21 G90 G17\nM3 S18000\nG0 Z5\n";

PreviewOptions plainly() {
  PreviewOptions options;
  options.verify = 0;
  return options;
}

Preview run(const Scene& scene, const Path& path) {
  Outcome<Preview> found = preview_path(scene, path, plainly());
  EXPECT_TRUE(found) << to_text(found.faults().front());
  return std::move(*found);
}

/// Two pockets with a wall of `web_mm` between them, 20 mm deep.
std::string thin_wall(double web_mm, double to_y_mm = 44) {
  const std::vector<double> levels{5, 10, 15, 20};
  return kHead + pocket(29, 20, 35, to_y_mm, levels) +
         pocket(35 + 6.35 + web_mm, 20, 41 + 6.35 + web_mm, to_y_mm, levels) + "M5\nM30\n";
}

void expect_top(const AdviceList& list, LeverKind kind) {
  ASSERT_FALSE(list.ranked.empty());
  EXPECT_STREQ(to_text(kind_of(list.ranked.front().lever)), to_text(kind));
}

} // namespace

TEST(Advice, LongFlutesAreCuredByTheStubOfTheDrawer) {
  Scene scene = sheet_of(100, 70, "flat-6.35-long");
  scene.drawer = {*find_cutter("flat-6.35-stub")};
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
  scene.drawer = {*find_cutter("flat-6.35-stub")};
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
  scene.cutters.push_back(*find_cutter("flat-6.35-long"));
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
  scene.drawer = {*find_cutter("flat-6.35-stub")};
  PreviewOptions solid;
  solid.verify = 2;
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
  scene.drawer = {*find_cutter("flat-6.35-stub")};
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

namespace {

SnaggingWeb web_at(int id, double x_mm, double s) {
  SnaggingWeb web;
  web.id = id;
  web.s = s;
  web.w_mm = 6;
  web.midline_mm = {{x_mm, 0}, {x_mm, 50}};
  web.spots_mm = {{x_mm + 3, 20}};
  web.place_mm = {x_mm + 3, 20, -10};
  return web;
}

} // namespace

// Two runs number webs as they find them: the same number may be another web, and one web may have two.
TEST(Advice, WebsAreToldApartByTheirPlaceNotByTheirNumber) {
  const WebChanges changes =
      web_changes({web_at(3, 10, 2), web_at(9, 40, 1.5)}, {web_at(3, 70, 2), web_at(1, 40, 1.5)});
  ASSERT_EQ(changes.gone.size(), 1u);
  EXPECT_EQ(changes.gone[0].place_mm.x, 13);
  ASSERT_EQ(changes.fresh.size(), 1u);
  EXPECT_EQ(changes.fresh[0].place_mm.x, 73);
  EXPECT_TRUE(changes.harder.empty());
  EXPECT_EQ(web_changes({web_at(1, 10, 2)}, {web_at(1, 10, 2.2)}).harder.size(), 1u);
  // Seen from its other wall, on another number: still that web.
  SnaggingWeb other = web_at(5, 10, 2);
  other.spots_mm = {{7, 44}};
  EXPECT_TRUE(web_changes({web_at(3, 10, 2)}, {other}).fresh.empty());
}

TEST(Advice, ACleanJobGetsNone) {
  Scene scene = sheet_of(100, 70, "flat-6.35-stub");
  scene.drawer = {*find_cutter("flat-6.35-long")};
  const Preview found =
      run(scene, path_of(std::string(kHead) + pocket(30, 20, 36, 26, {5, 10}) + "M5\nM30\n"));
  const AdviceList list = advise(found, {});
  EXPECT_TRUE(list.clean);
  EXPECT_EQ(list.runs, 0u);
  EXPECT_TRUE(list.ranked.empty() && list.no_help.empty() && list.not_answered.empty() &&
              list.not_tried.empty());
}

// S is blind to feed and to climb or conventional; they are told as such and clear nothing.
TEST(Advice, LeversTheModelCannotSeeAreToldAsNotAnswered) {
  const Preview found = run(sheet_of(100, 70, "flat-6.35-long"), path_of(thin_wall(7)));
  const AdviceList list = advise(found, {});
  for (const LeverKind key : {LeverKind::feed, LeverKind::climb, LeverKind::pass_depth}) {
    EXPECT_TRUE(std::any_of(list.not_answered.begin(), list.not_answered.end(), [&](const Advice& a) {
      return kind_of(a.lever) == key;
    })) << to_text(key);
    EXPECT_TRUE(std::none_of(list.no_help.begin(), list.no_help.end(), [&](const Advice& a) {
      return kind_of(a.lever) == key;
    })) << to_text(key);
  }
  for (const Advice& one : list.not_answered) {
    EXPECT_EQ(one.after.by_level[2] + one.after.by_level[3] > 0, true) << to_text(kind_of(one.lever));
  }
}

TEST(Advice, StopsWhenAskedAndKeepsWhatItHas) {
  Scene scene = sheet_of(100, 70, "flat-6.35-long");
  scene.drawer = {*find_cutter("flat-6.35-stub")};
  const Preview found = run(scene, path_of(thin_wall(7)));
  bool first = false;
  AdviceOptions options;
  options.found = [&](const AdviceList&) { first = true; };
  options.progress = [&](const std::string&, double) { return !first; };
  const AdviceList list = advise(found, options);
  EXPECT_TRUE(list.stopped);
  EXPECT_EQ(list.ranked.size(), 1u);
}

TEST(Advice, SaysWhyALeverIsLeftOut) {
  Scene scene = sheet_of(100, 70, "flat-6.35-long");
  scene.drawer = {*find_cutter("flat-3.175-stub")};
  const AdviceList list = advise(run(scene, path_of(thin_wall(7))), {});
  EXPECT_TRUE(std::any_of(list.not_tried.begin(), list.not_tried.end(), [](const Untried& why) {
    const auto* other = std::get_if<untried::OtherDiameter>(&why);
    return other && other->diameter_mm == 3.175 && other->now_mm == 6.35;
  }));
}

// Taking over what a change leaves must change nothing: the bytes of result.json are those of a run from the
// start.
TEST(PreviewAgain, EqualsAFullRun) {
  Scene scene = sheet_of(100, 70, "flat-6.35-long");
  scene.hold_down.kind = HoldDownKind::tape;
  scene.hold_down.tension_kPa.guess = scene.hold_down.shear_kPa.guess = scene.hold_down.peel_N_mm.guess =
      true;
  const Path path = path_of(thin_wall(7));
  const Preview before = run(scene, path);
  const auto check = [&](const Scene& changed, const Path& way, const char* what) {
    Outcome<Preview> again = preview_again(before, changed, way, plainly());
    ASSERT_TRUE(again);
    const Preview whole = run(changed, way);
    EXPECT_EQ(result_json(*again), result_json(whole)) << what;
    EXPECT_EQ(again->checks->hold.worst.size(), whole.checks->hold.worst.size()) << what;
  };
  check(scene, path, "nothing");
  Scene changed = scene;
  changed.layers.front().foam = *find_foam("pe-32");
  check(changed, path, "foam");
  changed = scene;
  changed.cutters = {*find_cutter("flat-6.35-stub")};
  check(changed, path, "cutter");
  changed = scene;
  changed.cutters.front().helix_deg = 0;
  check(changed, path, "helix");
  changed = scene;
  changed.cutters.front().flutes = 1;
  check(changed, path, "teeth");
  changed = scene;
  changed.hold_down.tape_area_share = 0.2;
  check(changed, path, "tape");
  changed = scene;
  changed.machine.acceleration_mm_s2 = {200, 200, 100};
  check(changed, path, "machine");
  check(scene, with_feed(path, 0, 0.5), "feed");
  check(scene, *with_pass_depth(path, 0, 2.5), "passes");
  check(scene, *with_loops_reversed(path, 0), "loops");
}

// Over random footprints and loads: more tape never lowers the factor.
TEST(HoldDown, MoreTapeNeverLowersTheFactor) {
  std::mt19937 random(11);
  const auto between = [&](double a, double b) {
    return std::uniform_real_distribution<double>(a, b)(random);
  };
  for (int n = 0; n < 1000; ++n) {
    const FoamCard& foam = foam_cards()[static_cast<std::size_t>(n) % foam_cards().size()];
    const Footprint less{between(10, 5000), between(2, 300), between(2, 200)};
    const Footprint more{less.held_mm2 * between(1, 5), less.edge_mm * between(1, 5), less.base_mm};
    const double push = between(0, 20);
    const PieceLoad load{push, between(-2, 10), push * between(0, 50)};
    const Safety a = tape_safety(tape_on(foam), less, load), b = tape_safety(tape_on(foam), more, load);
    EXPECT_GE(b.nominal, a.nominal * (1 - 1e-12)) << n;
    EXPECT_GE(b.low, a.low * (1 - 1e-12)) << n;
  }
}

// What a user gets wrong is named where it stands; what is merely missing leaves the rest of the report
// intact.
TEST(AdviceScenes, BadInputIsNamedWithItsWayOut) {
  const std::string base =
      std::string("foam = \"pu-22\"\ncutter = \"flat-6.35-long\"\nprogram = \"bicycle-case.nc\"\n");
  const auto faults_of = [&](const std::string& more) {
    const Outcome<Scene> scene = parse_scene(base + more, "bad.toml", SNAGMAP_ROOT "/scenes/bicycle-case");
    std::string text;
    if (!scene)
      for (const Fault& fault : scene.faults())
        text += to_text(fault) + "\n";
    return text;
  };
  EXPECT_EQ(faults_of("drawer = [\"flat-6.35-stub\"]\n"), "");
  const std::string foam = faults_of("drawer = [\"pe-32\"]\n"); // a foam where a cutter belongs
  EXPECT_NE(foam.find("bad.toml:4:"), std::string::npos) << foam;
  EXPECT_NE(foam.find("pe-32"), std::string::npos) << foam;
  const std::string tape = faults_of("[hold_down]\nkind = \"tape\"\narea = \"0 %\"\n");
  EXPECT_NE(tape.find("bad.toml:6:"), std::string::npos) << tape;
  EXPECT_NE(tape.find("area"), std::string::npos) << tape;
  EXPECT_NE(faults_of("[hold_down]\nkind = \"tape\"\npressure = \"20 kPa\"\n").find("pressure"),
            std::string::npos);
}

TEST(AdviceScenes, WithoutAHoldDownTheRestIsAdvisedAbout) {
  Scene scene = sheet_of(100, 70, "flat-6.35-long");
  scene.drawer = {*find_cutter("flat-6.35-stub")};
  const Preview found = run(scene, path_of(thin_wall(7)));
  EXPECT_TRUE(std::any_of(found.findings.begin(), found.findings.end(),
                          [](const Finding& f) { return f.kind() == FindingKind::hold_down_not_given; }));
  const AdviceList list = advise(found, {});
  EXPECT_FALSE(list.before.hold_known);
  ASSERT_FALSE(list.ranked.empty());
  EXPECT_EQ(kind_of(list.ranked.front().lever), LeverKind::cutter);
}

// A program for a zero on top, run with the zero on the table, cuts into the table: no lever mends that.
TEST(AdviceScenes, AContradictoryZeroIsSaidAndNoAdviceClaimsToMendIt) {
  Scene scene = sheet_of(100, 70, "flat-6.35-long");
  scene.zero_on_table = true;
  scene.sheet = {{0, 0, 0}, {100, 70, 40}};
  scene.drawer = {*find_cutter("flat-6.35-stub")};
  const Preview found = run(scene, path_of(thin_wall(7)));
  EXPECT_TRUE(found.checks->zero);
  const AdviceList list = advise(found, {});
  ASSERT_GT(list.before.stops, 0);
  for (const auto* entries : {&list.ranked, &list.trades, &list.no_help, &list.not_answered})
    for (const Advice& one : *entries)
      EXPECT_GE(one.after.stops, list.before.stops) << to_text(kind_of(one.lever));
}
