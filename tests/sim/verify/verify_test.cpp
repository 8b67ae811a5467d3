// Verification of spots on webs cut by programs, against independent finite elements and against itself.
#include "sim/verify/verify.hpp"

#include "tests/sim/verify_fixture.hpp"

using namespace snagmap;
using namespace snagmap::testing;

namespace {

double gamma_of(const WebCase& web, const VerifyOptions& options = {}) {
  const SolidCheck check = verify_spot(web.record, web.scene, web.spot, options);
  EXPECT_TRUE(check.verified) << check.why_not;
  EXPECT_LE(check.residual, 1.1 * options.tolerance);
  return check.s / web.scene.layers[0].foam.lambda.nominal;
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
  EXPECT_NEAR(check.s_low / check.s, 0.2 / 0.3, 1e-12);
  EXPECT_NEAR(check.s_high / check.s, 0.4 / 0.3, 1e-12);
  EXPECT_EQ(check.right_hand_sides, kSlices);
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
    EXPECT_NEAR(dot(xy(check.shape_points_mm[i]), built.spot.normal), 5, 1e-6); // on the wall
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
    return check.why_not;
  };
  Spot spot = built.spot;
  spot.place_mm.y += 20; // a place in the air
  EXPECT_NE(why(spot, built.scene, quick()).find("the web is gone"), std::string::npos);
  Scene scene = built.scene;
  scene.layers[0].foam.E_kPa.nominal = 0;
  EXPECT_NE(why(built.spot, scene, quick()).find("modulus is zero"), std::string::npos);
  VerifyOptions small;
  small.spot_cost = 1000;
  EXPECT_NE(why(built.spot, built.scene, small).find("limit"), std::string::npos);
  StraightWeb thin;
  thin.w = 0.4, thin.h = 10, thin.length = 40;
  const WebCase sliver = cut_web(thin);
  EXPECT_NE(verify_spot(sliver.record, sliver.scene, sliver.spot).why_not.find("less than one voxel"),
            std::string::npos);

  Preview preview;
  preview.scene = scene;
  preview.record = std::make_shared<RemovalRecord>(cut_web({}).record);
  preview.spots = {built.spot};
  preview.spots[0].answer.s = 1.2;
  EXPECT_EQ(verify_spots(preview, -1)->verified, 0);
  ASSERT_TRUE(preview.spots[0].fe);
  EXPECT_EQ(preview.spots[0].s(), 1.2);
}

TEST(Verify, ChoosesDoubtfulSpotsAndStopsAtTheLimit) {
  Preview preview;
  WebCase built = cut_web({});
  preview.scene = built.scene;
  preview.record = std::make_shared<RemovalRecord>(std::move(built.record));
  preview.spots.assign(6, built.spot);
  const double s[6] = {3, 2.5, 2, 1.8, 1.1, 0.3};
  for (int i = 0; i < 6; ++i)
    preview.spots[std::size_t(i)].answer.s = s[i];
  EXPECT_EQ(verify_spots(preview, 0)->verified, 0);
  EXPECT_FALSE(preview.spots[0].fe);
  EXPECT_EQ(verify_spots(preview, 1, quick())->verified, 1);
  EXPECT_TRUE(preview.spots[0].fe && !preview.spots[1].fe);

  VerifyOptions limited = quick();
  limited.total_cost = 1; // the first spot uses it up
  const auto count = verify_spots(preview, -1, limited);
  ASSERT_TRUE(count);
  EXPECT_EQ(count->verified, 1);
  EXPECT_EQ(count->left_out, 3);
  EXPECT_TRUE(preview.spots[0].fe->verified);
  for (const int i : {1, 2, 4}) // the other two of the worst three, and the doubtful one
    EXPECT_NE(preview.spots[std::size_t(i)].fe->why_not.find("left out"), std::string::npos) << i;
  EXPECT_FALSE(preview.spots[3].fe); // surely snags
  EXPECT_FALSE(preview.spots[5].fe); // surely holds
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
