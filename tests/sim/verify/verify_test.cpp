// Verification of spots on webs cut by programs, against independent finite elements and against itself.
#include "sim/verify/verify.hpp"

#include "sim/judge/spots.hpp"
#include "sim/verify/solved_wall.hpp"
#include "tests/sim/verify_fixture.hpp"
#include "tests/sim/why_not.hpp"

#include <tbb/global_control.h>

using namespace snagmap;
using namespace snagmap::testing;

namespace {

double gamma_of(const WebCase& web, const VerifyOptions& options = {}) {
  const SolidCheck check = verify_spot(web.record, web.scene, web.spot, options);
  EXPECT_TRUE(check.verified) << why_not(check);
  EXPECT_LE(check.residual, 1.1 * options.tolerance);
  return check.answer.s / web.scene.layers[0].foam.lambda.nominal;
}

/// Two and four bricks across.
VerifyOptions quick() {
  VerifyOptions options;
  options.patch.across = 2;
  options.spot_cost = 1e9;
  return options;
}

} // namespace

// Largest eigenvalues of 27-node bricks (an independent solver of ours, itself checked against 20-node
// bricks): webs 120 mm long on 25 mm of foam, contact patch 5 mm, full height. 8 load slices there, 12 here:
// 0 to 1.3 % apart.
TEST(Verify, ReferenceWebsComeOutWithinFourPercent) {
  const struct {
    double w, h, gamma;
  } cases[] = {{5, 25, 72.1}, {10, 25, 13.3}, {19, 25, 4.16}, {30, 25, 2.57}, {19, 50, 17.4}};
  for (const auto& c : cases) {
    StraightWeb web;
    web.w = c.w, web.h = c.h;
    EXPECT_NEAR(gamma_of(cut_web(web), quick()) / c.gamma, 1, 0.04) << c.w << " x " << c.h;
  }
}

TEST(Verify, MovingTheFixedFacesToThreeHeightsChangesLittle) {
  StraightWeb web;
  web.length = 300;
  const WebCase built = cut_web(web);
  VerifyOptions wide = quick();
  wide.patch.side_heights = wide.patch.along_heights = 3;
  EXPECT_NEAR(gamma_of(built, quick()) / gamma_of(built, wide), 1, 0.03);
}

// Walls are looked at exactly and lie on the mesh, so neither the record's voxels nor the web's direction
// show.
TEST(Verify, WebsOfFourAndAHalfVoxelsGiveTheSameAtAnyAngle) {
  const struct { double w, turn_deg; } cases[] = {{4.3, 17}, {4.5, 45}, {4.7, 30}};
  for (const auto& c : cases) {
    StraightWeb web;
    web.w = c.w, web.h = 10, web.length = 60, web.under = 10, web.voxel = 0.25;
    VerifyOptions coarse = quick();
    coarse.patch.side_heights = coarse.patch.along_heights = 1;
    coarse.patch.least_depth_mm = 10;
    VerifyOptions fine = coarse;
    fine.patch.finer = 4; // the coarser of its meshes is the finer one here; four times the other
    const double expected = gamma_of(cut_web(web, 4), fine);
    web.voxel = 1;
    for (const double angle : {0.0, c.turn_deg}) {
      web.turn_deg = angle;
      EXPECT_NEAR(gamma_of(cut_web(web, 4), coarse) / expected, 1, 0.03)
          << c.w << " mm at " << angle << " degrees";
    }
  }
}

TEST(Verify, TheTolerancesLeaveNoTraceInS) {
  const WebCase built = cut_web({});
  VerifyOptions tight = quick();
  tight.tolerance = 1e-8;
  EXPECT_NEAR(gamma_of(built, quick()) / gamma_of(built, tight), 1, 1e-4);
}

TEST(Verify, TheBandComesFromLambdaAlone) {
  const WebCase built = cut_web({});
  const SolidCheck check = verify_spot(built.record, built.scene, built.spot, quick());
  ASSERT_TRUE(check.verified);
  EXPECT_NEAR(check.answer.s_low / check.answer.s, 0.2 / 0.3, 1e-12);
  EXPECT_NEAR(check.answer.s_high / check.answer.s, 0.4 / 0.3, 1e-12);
  EXPECT_EQ(check.right_hand_sides, 1); // the finer mesh: the mode
  EXPECT_GT(check.unknowns, check.bricks);
}

TEST(Verify, FewerFlutesGiveASmallerS) {
  WebCase built = cut_web({});
  double last = 0;
  for (const double reach : {12.0, 22.0, 25.0}) {
    built.spot.question.contact.high_mm = reach;
    const double gamma = gamma_of(built, quick());
    EXPECT_GT(gamma, last);
    last = gamma;
  }
}

TEST(Verify, TheModulusOfTheFoamCancels) {
  WebCase built = cut_web({});
  const double soft = gamma_of(built, quick());
  built.scene.layers[0].foam.E_kPa.nominal = 400;
  EXPECT_NEAR(gamma_of(built, quick()) / soft, 1, 1e-5);
}

TEST(Verify, AFirmLayerUnderTheRootStiffensTheWeb) {
  WebCase built = cut_web({});
  const double soft = gamma_of(built, quick());
  built.scene.layers = {built.scene.layers[0], built.scene.layers[0]};
  built.scene.layers[0].thickness_mm = built.scene.layers[1].thickness_mm = 25;
  built.scene.layers[0].foam.E_kPa.nominal = 500;
  EXPECT_LT(gamma_of(built, quick()), 0.9 * soft);
}

TEST(Verify, TheBentShapeIsLargestAtTheTopAndPointsOut) {
  const WebCase built = cut_web({});
  const SolidCheck check = verify_spot(built.record, built.scene, built.spot, quick());
  ASSERT_EQ(check.shape_points_mm.size(), check.shape_displacement.size());
  double most = 0, height = 0, out = 0;
  for (std::size_t i = 0; i < check.shape_points_mm.size(); ++i) {
    EXPECT_NEAR(dot(xy(check.shape_points_mm[i]), built.spot.normal), 5,
                2e-5); // on the wall: layers rounded to 1e-6
    if (norm(check.shape_displacement[i]) > most) {
      most = norm(check.shape_displacement[i]);
      height = check.shape_points_mm[i].z;
      out = dot(xy(check.shape_displacement[i]), built.spot.normal);
    }
  }
  EXPECT_NEAR(most, 1, 1e-12);
  EXPECT_NEAR(height, 50, 1e-9);
  EXPECT_GT(out, 0.9);
}

TEST(Verify, WhatCannotBeVerifiedSaysWhyAndKeepsTheScreeningValue) {
  const WebCase built = cut_web({});
  const auto why = [&](const Spot& spot, const Scene& scene, const VerifyOptions& options) {
    const SolidCheck check = verify_spot(built.record, scene, spot, options);
    EXPECT_FALSE(check.verified);
    return std::string(why_not(check));
  };
  Spot spot = built.spot;
  spot.place_mm.y += 20; // a place in the air
  EXPECT_EQ(why(spot, built.scene, quick()), "web-gone");
  Scene scene = built.scene;
  scene.layers[0].foam.E_kPa.nominal = 0;
  EXPECT_EQ(why(built.spot, scene, quick()), "no-modulus");
  VerifyOptions small;
  small.spot_cost = 1000;
  EXPECT_EQ(why(built.spot, built.scene, small), "too-large");
  StraightWeb thin;
  thin.w = 0.4, thin.h = 10, thin.length = 40;
  const WebCase sliver = cut_web(thin);
  EXPECT_STREQ(why_not(verify_spot(sliver.record, sliver.scene, sliver.spot)), "under-a-voxel");

  Preview preview;
  preview.scene = scene;
  preview.record = std::make_shared<RemovalRecord>(cut_web({}).record);
  preview.spots = {built.spot};
  preview.spots[0].answer.s = preview.spots[0].answer.s_high = 1.2;
  EXPECT_EQ(verify_spots(preview, SolveChoice::plausible())->verified, 0);
  ASSERT_TRUE(preview.spots[0].fe);
  EXPECT_EQ(preview.spots[0].s(), 1.2);
}

namespace {

/// A job of equal spots that the formula rates differently.
JudgedJob job_of(const std::vector<double>& s_high) {
  JudgedJob job;
  WebCase built = cut_web({});
  job.scene = built.scene;
  job.record = std::make_shared<RemovalRecord>(std::move(built.record));
  job.spots.assign(s_high.size(), built.spot);
  for (std::size_t i = 0; i < s_high.size(); ++i) {
    Spot& spot = job.spots[i];
    spot.id = spot.web = int(i) + 1;
    spot.answer.s = 0.8 * s_high[i], spot.answer.s_high = s_high[i];
  }
  return job;
}

} // namespace

TEST(Verify, SolvesEveryWebThatCouldReachAHalfByTheUpperEndOfItsBand) {
  JudgedJob job = job_of({3, 0.13, 0.12, 0.1});
  job.spots[3].question.laminate = true; // of which the formula knows nothing
  EXPECT_EQ(verify_spots(job, SolveChoice::none())->verified, 0);
  EXPECT_FALSE(job.spots[0].fe);
  EXPECT_EQ(verify_spots(job, SolveChoice::plausible(), quick())->verified, 3);
  EXPECT_TRUE(job.spots[0].solved() && job.spots[1].solved() && job.spots[3].solved());
  EXPECT_FALSE(job.spots[2].fe);

  job = job_of({3, 0.13, 0.12, 0.1});
  EXPECT_EQ(verify_spots(job, SolveChoice::worst(1), quick())->verified, 1);
  EXPECT_TRUE(job.spots[0].fe && !job.spots[1].fe);
  EXPECT_EQ(verify_spots(job, SolveChoice::all(), quick())->verified, 4);
}

TEST(Verify, SaysWhichSpotsTheLimitLeftToTheFormula) {
  JudgedJob job = job_of(std::vector<double>(18, 2));
  VerifyOptions limited = quick();
  limited.total_cost = 1; // the first sixteen, which are solved at once, use it up
  const auto count = verify_spots(job, SolveChoice::plausible(), limited);
  ASSERT_TRUE(count);
  EXPECT_EQ(count->verified, 16);
  EXPECT_EQ(count->left_out, 2);
  for (const std::size_t i : {16, 17}) {
    EXPECT_STREQ(why_not(*job.spots[i].fe), "left-out") << i;
    EXPECT_EQ(job.spots[i].s(), 1.6); // the formula's
  }
}

TEST(Verify, TheSolvedAnswerIsTheOneThatIsShownAndTheFormulasIsKept) {
  JudgedJob job = job_of({2});
  verify_spots(job, SolveChoice::plausible(), quick());
  const Spot& spot = job.spots[0];
  ASSERT_TRUE(spot.solved());
  EXPECT_EQ(spot.answer.s, spot.fe->answer.s);
  EXPECT_EQ(spot.s(), spot.answer.s);
  EXPECT_EQ(spot.by_formula().s, 1.6);
}

// Samples along the web keep their proportion to the solved place: what is a third of the spot's S by the
// formula is a third of the solved one.
TEST(Verify, SamplesAlongAWebFollowItsSolvedSpotOnTheirOwnFloor) {
  JudgedJob job = job_of({2, 2});
  job.spots[1].web = job.spots[0].web, job.spots[1].place_mm.z += 6; // a pass higher
  verify_spots(job, SolveChoice::worst(1), quick());
  verify_spots(job, SolveChoice::plausible(), quick());
  ASSERT_TRUE(job.spots[0].solved() && job.spots[1].solved());
  Spot &deep = job.spots[0], &high = job.spots[1];
  deep.answer.s = 3.2, high.answer.s = 0.8; // 1.6 by the formula
  high.answer.has_lean = true, high.answer.lean_mm = 0.4;
  const int web = deep.web;
  const double low_z = deep.place_mm.z, high_z = high.place_mm.z;
  for (const double z : {low_z, high_z}) {
    PathSample sample;
    sample.web = web, sample.root_z_mm = float(z), sample.s = 0.8f, sample.lean_mm = 0.1f;
    job.samples.push_back(sample);
  }
  job.samples.push_back(job.samples[0]);
  job.samples[2].web = -1; // of no web
  follow_elements(job);
  EXPECT_FLOAT_EQ(job.samples[0].s, 1.6f);
  EXPECT_EQ(job.samples[0].lean_mm, 0); // past the edge
  EXPECT_FLOAT_EQ(job.samples[1].s, 0.4f);
  EXPECT_FLOAT_EQ(job.samples[1].lean_mm, 0.2f);
  EXPECT_FLOAT_EQ(job.samples[2].s, 0.8f);
  EXPECT_EQ(job.spots[0].answer.s, 3.2); // worst first, by what decides
}

TEST(Verify, OneTwoAndFourThreadsGiveTheSameBits) {
  std::vector<double> first;
  for (const std::size_t threads : {1, 2, 4}) {
    tbb::global_control limit(tbb::global_control::max_allowed_parallelism, threads);
    JudgedJob job = job_of({2, 2, 2});
    job.spots[1].question.contact.high_mm = 9;
    job.spots[2].question.web.b_p_mm = 4;
    VerifyOptions small = quick();
    small.patch.finer = 2;
    verify_spots(job, SolveChoice::plausible(), small);
    std::vector<double> all;
    for (const Spot& spot : job.spots) {
      all.push_back(spot.answer.s), all.push_back(spot.answer.lean_mm);
      all.insert(all.end(), spot.answer.mode.begin(), spot.answer.mode.end());
    }
    if (first.empty())
      first = all;
    EXPECT_EQ(first, all) << threads << " threads";
  }
}

// The same wall turned about the sheet, and its mirror image: one key, one solve, the same bits.
TEST(Verify, OneShapeHasOneKeyWhereverItStandsTurnedOrMirrored) {
  const auto standing = [](double turn_deg, double taper, double w = 6) {
    StraightWeb web;
    web.w = w, web.h = 10, web.length = 24, web.under = 10;
    web.turn_deg = turn_deg, web.taper = taper;
    return cut_web(web, 4);
  };
  const auto standard = [](const WebCase& web) {
    const OrUnsolved<WebPatch> patch = cut_patch(web.record, web.scene, web.spot, {});
    EXPECT_TRUE(patch);
    return standard_wall(*patch, web.spot.question, 0.3);
  };
  const WebCase plain = standing(0, 0.05);
  const StandardWall wall = standard(plain);
  const SolidCheck once = verify_spot(plain.record, plain.scene, plain.spot, {});
  ASSERT_TRUE(once.verified) << why_not(once);
  for (const auto& [turn_deg, taper] : {std::pair{90.0, 0.05}, {180.0, 0.05}, {0.0, -0.05}, {30.0, -0.05}}) {
    const WebCase again = standing(turn_deg, taper);
    const StandardWall other = standard(again);
    EXPECT_EQ(wall.key, other.key) << turn_deg << " degrees, taper " << taper;
    EXPECT_EQ(wall.mirrored == other.mirrored, taper > 0);
    EXPECT_EQ(verify_spot(again.record, again.scene, again.spot, {}).answer.s, once.answer.s) << turn_deg;
  }
  EXPECT_NE(wall.key, standard(standing(0, 0.05, 6.01)).key);
}

TEST(Verify, SpotsOfOneShapeAreSolvedOnce) {
  JudgedJob job = job_of({2, 2, 2});
  job.spots[2].question.web.b_p_mm = 4;
  const auto count = verify_spots(job, SolveChoice::plausible(), quick());
  ASSERT_TRUE(count);
  EXPECT_EQ(count->verified, 3);
  EXPECT_EQ(count->shapes, 2);
  EXPECT_EQ(job.spots[0].s(), job.spots[1].s());
  EXPECT_NE(job.spots[0].s(), job.spots[2].s());
}

// Gamma's error is the square of the mode's: four smooth loads and one mode against a load on every slice of
// both meshes. The lean under the base load keeps the coarser mesh's error where the mode does not tell it:
// 2.5 times what halving the bricks once more takes off, mesh_share, which is 8 % at most here.
TEST(Verify, FourSmoothLoadsAndTheModeGiveWhatALoadOnEverySliceDoes) {
  for (const double reach : {25.0, 12.0, 5.0}) {
    WebCase built = cut_web({});
    built.spot.question.contact.high_mm = reach;
    built.spot.question.pass_depth_mm = 3;
    built.spot.question.bite[0] = 2, built.spot.question.bite[7] = 0.5; // as of two foams
    VerifyOptions plain = quick();
    plain.patterns = kSlices;
    const SolidCheck few = verify_spot(built.record, built.scene, built.spot, quick()),
                     all = verify_spot(built.record, built.scene, built.spot, plain);
    ASSERT_TRUE(few.verified && all.verified);
    EXPECT_EQ(all.right_hand_sides, kSlices);
    EXPECT_NEAR(few.answer.s / all.answer.s, 1, 1e-3) << reach;
    EXPECT_NEAR(few.answer.s_touch / all.answer.s_touch, 1, 0.2) << reach;
    EXPECT_EQ(few.answer.has_lean, all.answer.has_lean);
    if (all.answer.has_lean) {
      EXPECT_NEAR(few.answer.lean_mm / all.answer.lean_mm, 1, 0.2) << reach;
    }
  }
}

// The mesh's own error is 2 %; bricks that grow away from the contact may add as much.
TEST(Verify, BricksThatGrowAwayFromTheContactGiveWhatEqualOnesDo) {
  for (const double w : {5.0, 19.0}) {
    StraightWeb web;
    web.w = w, web.h = 12, web.length = 30;
    const WebCase built = cut_web(web);
    VerifyOptions even = quick();
    even.patch.growth = 1.0001;
    EXPECT_NEAR(gamma_of(built, quick()) / gamma_of(built, even), 1, 0.02) << w;
  }
}

TEST(Verify, LeanFollowsFromTheSolvedComplianceLikeTheFormulas) {
  WebCase built = cut_web({});
  built.spot.question.contact.high_mm = 6.35;
  built.spot.question.pass_depth_mm = 6.35;
  built.spot.question.neck_relief_mm = 1;
  const SolidCheck check = verify_spot(built.record, built.scene, built.spot, quick());
  ASSERT_TRUE(check.verified);
  ASSERT_TRUE(check.answer.has_lean);
  const SnagAnswer formula = judge(built.spot.question, built.scene.layers[0].foam);
  EXPECT_NEAR(check.answer.lean_mm / formula.lean_mm, 1, 0.2); // the formula's own spread
  EXPECT_GT(check.answer.u_max_mm, check.answer.lean_mm);
}
