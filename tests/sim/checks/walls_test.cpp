// Wall truth: finished walls only, the sheet's spread against real cuts of other sheets, seams, edges, zeros.
#include "sim/checks/walls.hpp"
#include "sim/record/data.hpp"
#include "tests/sim/record_fixture.hpp"

#include <memory>

namespace snagmap {
namespace {

using testing::cut;
using testing::flat_cutter;
using testing::line;
using testing::path_of;

Scene sheet(double low, double high) {
  Scene scene;
  scene.sheet = {{0, 0, low}, {60, 40, high}};
  scene.layers = {{*find_foam("pu-22"), high - low}};
  scene.cutters = {flat_cutter(6, 22)};
  scene.cutters[0].name = "long";
  scene.cutters[0].helix_deg = 30;
  scene.tolerance_mm = 0.5;
  return scene;
}

/// Two pockets with a web between them; the second only down to z.
Path pockets(double first_z, double second_z) {
  return path_of({line({10, 10, first_z}, {50, 10, first_z}), line({10, 25, second_z}, {50, 25, second_z})});
}

TEST(WallTruth, TheSheetsSpreadClipsTheThickestCutExactly) {
  for (const bool on_table : {false, true}) {
    Scene scene = on_table ? sheet(0, 20) : sheet(-20, 0);
    scene.zero_on_table = on_table;
    scene.thickness_spread_mm = 1.5;
    const Path path = on_table ? pockets(4, 1) : pockets(-12, -19);
    const ThicknessTruth truth = check_thickness(scene, path);
    ASSERT_TRUE(truth.given);
    ASSERT_EQ(truth.cases.size(), 3u);
    for (int n = 0; n < 3; ++n) {
      Box3 box = scene.sheet;
      const double change = (n - 1) * 1.5;
      (on_table ? box.high.z : box.low.z) += on_table ? change : -change;
      const RemovalRecord real = cut(box, scene.cutters, path, scene.voxel_mm);
      const ThicknessCase own = clipped_case(run_grid(real), box.low.z, box.high.z, {});
      const ThicknessCase& clipped = truth.cases[static_cast<std::size_t>(n)];
      EXPECT_DOUBLE_EQ(clipped.least_floor_mm, own.least_floor_mm);
      EXPECT_DOUBLE_EQ(clipped.through_mm2, own.through_mm2);
      EXPECT_DOUBLE_EQ(clipped.deepest_mm, own.deepest_mm);
      EXPECT_NEAR(clipped.removed_mm3, testing::sum(real.data().counted_mm3), 1e-6 * clipped.removed_mm3);
    }
    // On top the floor takes the spread (19 of 18.5 mm: through); on the table the depth does.
    EXPECT_EQ(truth.cases[0].through_mm2 > 0, !on_table);
    EXPECT_EQ(truth.cases[1].through_mm2, 0);
    EXPECT_NEAR(truth.cases[1].least_floor_mm, 1, 1e-5);
    EXPECT_NEAR(truth.cases[2].least_floor_mm, on_table ? 1 : 2.5, 1e-5);
    EXPECT_NEAR(truth.cases[2].deepest_mm - truth.cases[1].deepest_mm, on_table ? 1.5 : 0, 1e-5);
  }
}

TEST(WallTruth, NoSpreadRunsNothingAndATooLargeOneSaysWhy) {
  Scene scene = sheet(-20, 0);
  EXPECT_FALSE(check_thickness(scene, pockets(-5, -5)).given);
  EXPECT_FALSE(check_thickness(scene, pockets(-5, -5)).why_not);
  scene.thickness_spread_mm = 20;
  const auto why_not = check_thickness(scene, pockets(-5, -5)).why_not;
  ASSERT_TRUE(why_not);
  EXPECT_EQ(why_not->why, fact::ThicknessNotRun::Why::too_wide);
  EXPECT_EQ(why_not->spread_mm, 20);
  EXPECT_EQ(why_not->thickness_mm, 20);
}

JudgedJob job_with(std::vector<PathSample> samples, std::vector<Spot> spots = {}) {
  JudgedJob job;
  job.scene = sheet(-20, 0);
  job.path = pockets(-10, -10);
  job.record = std::make_shared<RemovalRecord>(cut(job.scene.sheet, job.scene.cutters, job.path));
  job.samples = std::move(samples);
  job.spots = std::move(spots);
  return job;
}

PathSample beside(double y_tip, double y_wall, double s, double lean) {
  PathSample sample;
  sample.x_mm = sample.wall_x_mm = 30;
  sample.y_mm = static_cast<float>(y_tip);
  sample.wall_y_mm = static_cast<float>(y_wall);
  sample.z_mm = sample.root_z_mm = -10;
  sample.s = static_cast<float>(s);
  sample.lean_mm = static_cast<float>(lean);
  sample.web = 1;
  return sample;
}

TEST(WallTruth, OnlyFinishedWallsWithMillimetresCount) {
  const JudgedJob job = job_with({
      beside(10, 13, 0.6, 0.7),  // leans in: over-cut, beyond the tolerance
      beside(25, 22, 0.4, -0.2), // leans out: foam left
      beside(10, 13, 1.3, 9),    // past the edge: no millimetres
      beside(18, 24, 0.5, 5),    // behind this face the foam is cut away later: not finished
  });
  const WallTruth truth = check_walls(job);
  ASSERT_EQ(truth.errors.size(), 2u);
  EXPECT_NEAR(truth.most_over_mm, 0.7, 1e-6);
  EXPECT_NEAR(truth.most_left_mm, 0.2, 1e-6);
  EXPECT_EQ(truth.over_tolerance, 1u);
  EXPECT_EQ(truth.left_tolerance, 0u);
  EXPECT_EQ(truth.unknown, 1u);
}

Spot pass(double z, double lean, double u_max, double reach, double height) {
  Spot spot;
  spot.web = 1;
  spot.place_mm = {30, 13, z};
  spot.normal = {0, -1};
  spot.program_line = static_cast<int>(-z);
  spot.answer.has_lean = true;
  spot.answer.lean_mm = lean;
  spot.answer.u_max_mm = u_max;
  spot.a_mm = reach;
  spot.question.web.h_mm = height;
  return spot;
}

TEST(WallTruth, TheTopIsCutByTheFirstPassAndByThoseWhoseFlutesReachIt) {
  // Long flutes: the last pass leans most at the top and cuts it again. Stub: only the first pass reaches the
  // top.
  const WallTruth both = check_walls(job_with({}, {pass(-5, 0.1, 0.2, 5, 5), pass(-9, 0.3, 0.9, 9, 9)}));
  ASSERT_EQ(both.fits.size(), 1u);
  EXPECT_DOUBLE_EQ(both.fits[0].floor_mm, 0.3);
  EXPECT_DOUBLE_EQ(both.fits[0].top_mm, 0.9);
  EXPECT_EQ(both.fits[0].line, 9);
  const WallTruth stub = check_walls(job_with({}, {pass(-5, 0.1, 0.2, 5, 5), pass(-9, 0.3, 0.9, 5, 9)}));
  EXPECT_DOUBLE_EQ(stub.fits[0].top_mm, 0.2);
  const std::vector<Finding> findings = wall_findings(both, {}, {}, {}, {}, {}, {});
  ASSERT_EQ(findings.size(), 1u);
  EXPECT_DOUBLE_EQ(std::get<fact::WallError>(findings[0].what).top_mm, 0.9); // + is wider
}

TEST(WallTruth, SeamsNearFloorsStepsAndFluteEndsAreTold) {
  Scene scene = sheet(-50, 0);
  scene.layers = {{*find_foam("pe-32"), 20}, {*find_foam("pe-32"), 30}}; // seam at -30
  scene.cutters[0].flute_length_mm = 15;
  const auto kinds = [&](double z) {
    const Path path = pockets(z, z);
    std::vector<int> what;
    for (const SeamHit& hit : check_seams(scene, path, run_grid(cut(scene.sheet, scene.cutters, path, 0.5))))
      what.push_back(static_cast<int>(hit.what));
    return what;
  };
  EXPECT_EQ(kinds(-10), std::vector<int>{});
  EXPECT_EQ(kinds(-29.5), (std::vector<int>{0, 1})); // floor and step
  EXPECT_EQ(kinds(-45.4), (std::vector<int>{2}));    // flutes end at -30.4
}

TEST(WallTruth, TheStubAndTheDownCutPullTheTopEdgeLess) {
  Scene scene = sheet(-40, 0);
  CutterCard stub = flat_cutter(6, 6), down = scene.cutters[0];
  stub.name = "stub";
  stub.helix_deg = 30;
  down.name = "down";
  down.helix_deg = -30;
  scene.drawer = {down, stub};
  std::vector<Move> moves;
  for (int n = 1; n <= 6; ++n)
    moves.push_back(line({10, 10, -6.0 * n}, {50, 10, -6.0 * n}));
  const std::vector<EdgeRank> ranks = rank_edges(scene, path_of(moves));
  ASSERT_EQ(ranks.size(), 3u);
  EXPECT_EQ(ranks[0].cutter, "long");
  EXPECT_EQ(ranks[0].passes, 3); // 22 mm of flutes reach the top from -6, -12 and -18
  EXPECT_EQ(ranks[1].cutter, "stub");
  EXPECT_EQ(ranks[1].passes, 1);
  EXPECT_EQ(ranks[2].pull, 0);
}

TEST(WallTruth, ZerosThatContradictTheProgramAreSaid) {
  Scene on_top = sheet(-20, 0), on_table = sheet(0, 20);
  on_table.zero_on_table = true;
  EXPECT_FALSE(zero_contradiction(on_top, pockets(-5, -8)));
  EXPECT_FALSE(zero_contradiction(on_table, pockets(12, 5)));
  const auto said = zero_contradiction(on_table, pockets(-5, -8));
  ASSERT_TRUE(said);
  EXPECT_EQ(said->highest_cut_z_mm, -5);
}

} // namespace
} // namespace snagmap
