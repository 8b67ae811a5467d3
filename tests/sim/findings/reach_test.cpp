// Reach and fit by the trade's table of shanks and collets (trade notes, section 3: proposals on ISO 15488
// sizes) and by handbook numbers.
#include "sim/findings/reach.hpp"
#include "tests/sim/record_fixture.hpp"

namespace snagmap {
namespace {

using testing::flat_cutter;
using testing::line;
using testing::path_of;

Scene scene_of(CutterCard cutter) {
  Scene scene;
  scene.sheet = {{0, 0, -40}, {100, 100, 0}};
  scene.layers = {{*find_foam("pu-22"), 40}};
  scene.cutters = {std::move(cutter)};
  return scene;
}

Path path_at(double rpm = 18000) {
  Path path = path_of({line({0, 0, 5}, {50, 50, 5}, MoveKind::rapid), line({50, 50, 5}, {50, 50, -38}),
                       line({50, 50, -38}, {80, 50, -38})});
  for (Move& move : path.moves)
    move.spindle_rpm = static_cast<float>(rpm);
  return path;
}

std::vector<ReachFit> reach(const Scene& scene, double rpm = 18000, const std::vector<Spot>& spots = {}) {
  return check_reach(scene, path_at(rpm), spots);
}

std::vector<Finding> reach_findings(const std::vector<ReachFit>& fits, const Scene& scene) {
  const Path path = path_at();
  return reach_findings(fits, scene, path, plan_motion(path, machine_cards().front()));
}

bool has(const std::vector<Finding>& findings, FindingKind kind) {
  return std::any_of(findings.begin(), findings.end(), [&](const Finding& f) { return f.kind() == kind; });
}

struct Row {
  double shank_mm;
  const char* series;
  double bore_mm, least_mm;
  Fit fit;
};

TEST(ReachFit, ShankInColletIsJudgedAsInTheTradesTable) {
  const Row rows[] = {
      {6.000, "ER20", 6, 5, Fit::ok},
      {6.000, "ER20", 6.35, 5.35, Fit::closes_some},
      {6.350, "ER20", 7, 6, Fit::closes_some},
      {3.175, "ER16", 4, 3, Fit::closes_much},
      {6.350, "ER20", 6, 0, Fit::shank_too_large},
      {3.175, "ER16", 3, 0, Fit::shank_too_large},
      {8.000, "ER20", 7.9375, 0, Fit::shank_too_large},
      {6.000, "ER20", 8, 7, Fit::shank_too_small},
      {3.000, "ER11", 4, 3.5, Fit::shank_too_small},
      {3.000, "ER11", 4, 0, Fit::shank_too_small}, // ER11 closes 0.5
  };
  for (const Row& row : rows) {
    CutterCard cutter = flat_cutter(6, 22);
    cutter.shank_diameter_mm = row.shank_mm;
    Scene scene = scene_of(cutter);
    scene.collet = {true, row.series, row.bore_mm, row.least_mm, 0, 0};
    const std::vector<ReachFit> fits = reach(scene);
    ASSERT_EQ(fits.size(), 1u);
    ASSERT_TRUE(fits[0].fit);
    EXPECT_EQ(*fits[0].fit, row.fit) << row.shank_mm << " in " << row.bore_mm;
    const std::vector<Finding> findings = reach_findings(fits, scene);
    EXPECT_EQ(has(findings, FindingKind::collet_refused), refused(row.fit));
    if (refused(row.fit)) {
      EXPECT_EQ(findings.front().kind(), FindingKind::collet_refused); // leads
      EXPECT_TRUE(findings.front().stops_job);
    }
  }
}

TEST(ReachFit, SaysSoWhenNoColletIsGivenOrItsSeriesIsUnknown) {
  Scene scene = scene_of(flat_cutter(6, 45));
  std::vector<Finding> findings = reach_findings(reach(scene, 9000), scene);
  ASSERT_EQ(findings.size(), 1u);
  EXPECT_EQ(findings[0].kind(), FindingKind::collet_not_given);
  scene.collet = {true, "ER12", 6, 0, 0, 0};
  findings = reach_findings(reach(scene, 9000), scene);
  ASSERT_EQ(findings.size(), 1u);
  ASSERT_EQ(findings[0].kind(), FindingKind::collet_unknown);
  EXPECT_EQ(std::get<fact::ColletUnknown>(findings[0].what).nearest, "ER11");
  EXPECT_FALSE(findings[0].stops_job);
  scene.collet = {true, "ER11", 8, 0, 0, 0}; // a series of ISO 15488 whose largest shank is 7 mm
  findings = reach_findings(reach(scene, 9000), scene);
  ASSERT_EQ(findings[0].kind(), FindingKind::collet_unknown);
  EXPECT_EQ(std::get<fact::ColletUnknown>(findings[0].what).nearest, "ER11");
  EXPECT_EQ(std::get<fact::ColletUnknown>(findings[0].what).largest_mm, 7);
  scene.collet = {true, "ER12", 5, 0, 0, 0}; // no collet opens, whatever its series
  EXPECT_TRUE(reach_findings(reach(scene, 9000), scene).front().stops_job);
}

TEST(ReachFit, ClampsTwoThirdsOfTheColletAtLeast) {
  Scene scene = scene_of(flat_cutter(6, 45));
  scene.collet = {true, "ER20", 6, 5, 20, 31.5};
  EXPECT_TRUE(has(reach_findings(reach(scene), scene), FindingKind::clamp_short));
  scene.collet.clamped_length_mm = 26;
  EXPECT_FALSE(has(reach_findings(reach(scene), scene), FindingKind::clamp_short));
}

TEST(ReachFit, MeasuresDepthAgainstFlutesNeckAndStickOut) {
  CutterCard cutter = flat_cutter(6, 22);
  cutter.neck_diameter_mm = 5;
  cutter.neck_length_mm = 10;
  cutter.stick_out_mm = 36;
  cutter.nut_length_mm = 20;
  const Scene scene = scene_of(cutter);
  const std::vector<ReachFit> fits = reach(scene);
  EXPECT_DOUBLE_EQ(fits[0].depth_mm, 38);
  EXPECT_EQ(fits[0].lowest_move, 1u);
  EXPECT_DOUBLE_EQ(fits[0].above_flutes_mm, 16);
  EXPECT_DOUBLE_EQ(fits[0].neck_relief_mm, 0.5);
  EXPECT_DOUBLE_EQ(*fits[0].nut_clear_mm, -2);
  EXPECT_DOUBLE_EQ(fits[0].holder_clear_mm, 18);
  const std::vector<Finding> findings = reach_findings(fits, scene);
  EXPECT_TRUE(has(findings, FindingKind::reach_short));
  EXPECT_TRUE(has(findings, FindingKind::wall_above_flutes));
}

TEST(ReachFit, WhirlRatioUsesTheHandbooksCriticalSpeed) {
  CutterCard cutter = flat_cutter(6, 22);
  cutter.stick_out_mm = 100;
  const Scene scene = scene_of(cutter);
  const std::vector<ReachFit> fits = reach(scene, 18000);
  EXPECT_NEAR(*fits[0].critical_rpm, 25400, 150); // 4.24e7 d / L^2, steel cantilever 6 x 100
  EXPECT_EQ(fits[0].whirl, Whirl::near);          // 0.71
  EXPECT_EQ(reach(scene, 24000)[0].whirl, Whirl::refuse);
  EXPECT_EQ(reach(scene, 12000)[0].whirl, Whirl::clear);
  CutterCard fluted = cutter; // a core of 4.8 mm over most of its length
  fluted.flute_length_mm = 60;
  EXPECT_NEAR(*reach(scene_of(fluted))[0].critical_rpm, 20300, 120);
}

TEST(ReachFit, CountsTheWebsThatLeanIntoTheNeck) {
  CutterCard cutter = flat_cutter(6, 6);
  cutter.neck_diameter_mm = 5;
  cutter.neck_length_mm = 50;
  const Scene scene = scene_of(cutter);
  std::vector<Spot> spots(3);
  spots[0].answer.neck_rubs = spots[2].answer.neck_rubs = true;
  spots[0].answer.u_max_mm = 0.7;
  spots[2].answer.u_max_mm = 1.1;
  spots[2].program_line = 42;
  const std::vector<ReachFit> fits = reach(scene, 18000, spots);
  EXPECT_EQ(fits[0].spots_that_rub, 2u);
  const std::vector<Finding> findings = reach_findings(fits, scene);
  const auto rub = std::find_if(findings.begin(), findings.end(),
                                [](const Finding& f) { return f.kind() == FindingKind::neck_rub; });
  ASSERT_NE(rub, findings.end());
  EXPECT_EQ(rub->program_line, 42);
}

} // namespace
} // namespace snagmap
