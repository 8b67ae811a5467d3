// What advice does not say: a clean job gets none, what the model cannot see is not answered, bad input is
// named.
#include "sim/path/edit.hpp"
#include "sim/results/results.hpp"
#include "tests/sim/advice/advice_jobs.hpp"

#include <algorithm>
#include <random>
#include <regex>
#include <sstream>

using namespace snagmap;
using namespace snagmap::advice_jobs;

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
  scene.drawer = {*snagmap::testing::find_cutter("flat-6.35-long")};
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
  scene.drawer = {*snagmap::testing::find_cutter("flat-6.35-stub")};
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
  scene.drawer = {*snagmap::testing::find_cutter("flat-3.175-stub")};
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
  changed.cutters = {*snagmap::testing::find_cutter("flat-6.35-stub")};
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
  scene.drawer = {*snagmap::testing::find_cutter("flat-6.35-stub")};
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
  scene.drawer = {*snagmap::testing::find_cutter("flat-6.35-stub")};
  const Preview found = run(scene, path_of(thin_wall(7)));
  EXPECT_TRUE(found.checks->zero);
  const AdviceList list = advise(found, {});
  ASSERT_GT(list.before.stops, 0);
  for (const auto* entries : {&list.ranked, &list.trades, &list.no_help, &list.not_answered})
    for (const Advice& one : *entries)
      EXPECT_GE(one.after.stops, list.before.stops) << to_text(kind_of(one.lever));
}
