// The tooth's question of a web read from the record, and its answers.
#include "sim/tooth/engaged.hpp"
#include "sim/tooth/lobes.hpp"
#include "sim/tooth/tooth_table.hpp"
#include "sim/tooth/web_tooth.hpp"

#include "models/base/constants.hpp"
#include "tests/sim/slot_job.hpp"

#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

using namespace snagmap;

namespace {

/// A web 8 mm thick and 10 mm high between two slots; the second one, `last`, is cut at Y 7 with the web on
/// its low side, after `rough`.
Preview web_job(const std::string& rough, const std::string& last) {
  return slot::run(slot::scene(),
                   "G0 X0 Y-7\nG1 Z-10 F600\nG1 X100 F1800\nG0 Z5\n" + rough + last + "\nG0 Z5");
}

const std::string kRough = "G0 X0 Y8.5\nG1 Z-10 F600\nG1 X100 F1800\nG0 Z5\n"; // leaves 1.5 mm
const std::string kClimb = "G0 X0 Y7\nG1 Z-10 F600\nG1 X100 F1800";
const std::string kConventional = "G0 X100 Y7\nG1 Z-10 F600\nG1 X0 F1800";

/// The worst spot on the side of the second slot.
const Spot* spot_of(const Preview& found) {
  for (const Spot& spot : found.spots)
    if (spot.normal.y > 0.9 && std::abs(spot.tip_mm.y - 7) < 1e-6)
      return &spot;
  return nullptr;
}

WebTooth answered(const Preview& found, const Spot& spot) {
  return tooth_answers(found, {std::size_t(&spot - found.spots.data())}).at(0);
}

} // namespace

// The engaged angle of a finish cut of width a_e: cos = 1 - a_e / R (Altintas, Manufacturing Automation, ch.
// 2); pi in a slot. Its edge is looked for to 1e-4 rad.
TEST(WebTooth, EngagedArcIsThatOfTheCutThatIsMade) {
  for (const bool climb : {true, false}) {
    const Preview finish = web_job(kRough, climb ? kClimb : kConventional);
    const Spot* spot = spot_of(finish);
    ASSERT_TRUE(spot);
    EXPECT_EQ(climb, spot->question.climb);
    for (const double engaged : engaged_at(finish, *spot))
      EXPECT_NEAR(std::acos(1 - 1.5 / 3), engaged, 1e-3); // the record's walls are within a micrometre
    const Preview whole = web_job("", climb ? kClimb : kConventional);
    const Spot* in_slot = spot_of(whole);
    ASSERT_TRUE(in_slot);
    for (const double engaged : engaged_at(whole, *in_slot))
      EXPECT_EQ(kPi, engaged);
  }
}

// One web, one compliance: the modes, softened to the static modulus, give the spot's own Gamma.
TEST(WebTooth, ModesGiveTheGammaThatTheWebIsJudgedBy) {
  const Preview found = web_job(kRough, kClimb);
  const Spot* spot = spot_of(found);
  ASSERT_TRUE(spot);
  const auto question = tooth_question(found, *spot);
  ASSERT_TRUE(question) << kind_text(question.why_not());
  const double E_MPa = found.scene.main_foam().E_kPa.nominal / 1000;
  Eigen::MatrixXd compliance = Eigen::MatrixXd::Zero(kSlices, kSlices);
  for (const WebMode& mode : question->web.modes) {
    const Eigen::Map<const Eigen::VectorXd> shape(mode.shape.data(), kSlices);
    compliance += question->dynamic * shape * shape.transpose() / (mode.omega_rad_s * mode.omega_rad_s);
  }
  const double gamma = E_MPa * question->web.slices[0].dz_mm *
                       Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd>(compliance).eigenvalues().maxCoeff();
  EXPECT_NEAR(spot->answer.gamma, gamma, 1e-6 * gamma);
}

// First mode of a wall far longer than high, free above, on foam as soft as itself: under the cantilever
// plate in cylindrical bending built in at its foot (Blevins 1979, lambda 1.8751), since foot and shear give
// way and the load sees a part of the length; over a third of it (foot, shear and local give way by no more
// than eight times the bending of so stocky a wall, by the compliance's own terms).
TEST(WebTooth, FirstModeLiesUnderTheBuiltInWalls) {
  const Preview found = web_job(kRough, kClimb);
  const Spot* spot = spot_of(found);
  ASSERT_TRUE(spot);
  const WebTooth tooth = answered(found, *spot);
  ASSERT_TRUE(tooth.answered) << kind_text(tooth.why_not.value_or(unsolved::NoModes{}));
  const FoamCard& foam = found.scene.main_foam();
  const double E = dynamic_ratio().nominal * foam.E_kPa.nominal / 1000, rho = foam.density_kg_m3 * 1e-12;
  const double nu = foam.nu.nominal, w = 8, h = 10;
  const double built_in =
      1.8751 * 1.8751 / (2 * kPi * h * h) * std::sqrt(E * w * w / (12 * (1 - nu * nu) * rho));
  EXPECT_LT(tooth.f1_Hz, built_in);
  EXPECT_GT(tooth.f1_Hz, built_in / 3);
  EXPECT_NEAR(18000 / 60 * 2, tooth.tooth_Hz, 1e-9);
}

// Textbook direction (Altintas): a climb cut pushes its wall off for every thrust over 0; a conventional one
// pulls it where the arc is wide. The same cut turned is the other one.
TEST(WebTooth, SidePushesAndPullsAsTheTextbookHasItAndTurnsIntoTheOther) {
  const Preview climb = web_job(kRough, kClimb), other = web_job(kRough, kConventional);
  const Spot *a = spot_of(climb), *b = spot_of(other);
  ASSERT_TRUE(a && b);
  const WebTooth pushed = answered(climb, *a), pulled = answered(other, *b);
  ASSERT_TRUE(pushed.answered && pulled.answered);
  EXPECT_EQ(ToothPush::pushed_off, pushed.push); // rake 0: thrust is the friction
  EXPECT_LT(pushed.pull_high_N, 0);
  EXPECT_GT(pulled.pull_N, pushed.pull_N);
  EXPECT_LE(pushed.t_low, pushed.t);
  EXPECT_GE(pushed.t_high, pushed.t);
  // The two spots lie at places of their own; feed and modes differ by what the machine and the ends make of
  // it.
  EXPECT_NEAR(pushed.t_turned, pulled.t, 0.15 * pulled.t + 0.02);
  EXPECT_EQ(pushed.push_turned, pulled.push);
}

TEST(WebTooth, IntervalsChosenGiveTheNumberOfManyMore) {
  for (const std::string& last : {kClimb, kConventional}) {
    const Preview found = web_job(kRough, last);
    const Spot* spot = spot_of(found);
    ASSERT_TRUE(spot);
    const auto question = tooth_question(found, *spot);
    ASSERT_TRUE(question);
    const ToothEdge edge = tooth_edge(question->web);
    if (!edge.found)
      continue;
    MultiplierOptions many;
    many.force_factor = edge.factor, many.intervals = 240;
    // The edge by ten times the intervals is elsewhere by the multiplier's error over its slope: 2 % of T.
    const double here = multiplier(question->web, many).magnitude;
    many.force_factor *= 1.1;
    const double slope = (multiplier(question->web, many).magnitude - here) / 0.1;
    EXPECT_LT(std::abs(here - 1), 0.02 * std::abs(slope));
  }
}

TEST(WebTooth, ProgramWithoutSpindleSpeedHasNoToothNumber) {
  Scene scene = slot::scene();
  scene.program_file = "slot.nc";
  scene.program_text = "G21 G90\nG0 X0 Y-7\nG1 Z-10 F600\nG1 X100 F1800\nG0 Z5\n" + kClimb + "\nG0 Z5\nM30\n";
  PreviewOptions options;
  options.verify = SolveChoice::none();
  const auto found = preview(scene, options);
  ASSERT_TRUE(found);
  const auto answers = tooth_answers(*found, tooth_spots(*found));
  ASSERT_FALSE(answers.empty());
  for (const WebTooth& answer : answers) {
    EXPECT_FALSE(answer.answered);
    ASSERT_TRUE(answer.why_not);
    EXPECT_STREQ(kind_text(*answer.why_not), "spindle-stands");
  }
  EXPECT_NE(tooth_csv(*found, answers).find("spindle"), std::string::npos);
}

TEST(WebTooth, WebIsAskedAboutOnceOnEachSide) {
  const Preview found = web_job(kRough, kConventional);
  std::vector<std::pair<int, bool>> seen;
  for (const std::size_t spot : tooth_spots(found))
    seen.emplace_back(found.spots[spot].web, found.spots[spot].question.climb);
  std::sort(seen.begin(), seen.end());
  EXPECT_TRUE(std::adjacent_find(seen.begin(), seen.end()) == seen.end());
  ASSERT_FALSE(seen.empty());
  for (const std::size_t spot : tooth_spots(found, seen[0].first))
    EXPECT_EQ(seen[0].first, found.spots[spot].web);
}

// Feed a tooth of the chart: at a given feed it falls with speed, and under the cutter's least chip it rubs
// (chip = feed / (z n), Machinery's Handbook).
TEST(WebTooth, LobesEndWhereTheChipRubsAndTheMachineEnds) {
  const Preview found = web_job(kRough, kConventional);
  const Spot* spot = spot_of(found);
  ASSERT_TRUE(spot);
  const auto question = tooth_question(found, *spot);
  ASSERT_TRUE(question);
  const WebTooth tooth = answered(found, *spot);
  const CutterCard& cutter = found.scene.cutters[0];
  const ToothLobes lobes = tooth_lobes(*question, tooth, cutter, found.scene.machine, 5);
  ASSERT_FALSE(lobes.curves.empty());
  EXPECT_EQ(8000, lobes.rpm_low);
  EXPECT_EQ(24000, lobes.rpm_high);
  for (const LobeCurve& curve : lobes.curves) {
    EXPECT_LE(curve.feed_mm_min, 8000);
    for (const double rpm : curve.spindle_rpm)
      EXPECT_GE(curve.feed_mm_min / (cutter.flutes * rpm), cutter.least_chip_mm);
    EXPECT_EQ(curve.spindle_rpm.size(), curve.t.size());
  }
  // At the program's own setting the chart says what the table says.
  EXPECT_NEAR(tooth.t, tooth_number(*question), 1e-12);
}
