// Hold-down along whole programs, and its rules: more tape never lowers a factor, words where nothing is
// given.
#include "sim/hold/hold.hpp"
#include "tests/sim/record_fixture.hpp"

#include <cmath>
#include <random>

namespace snagmap {
namespace {

using testing::cut;
using testing::flat_cutter;
using testing::kPi;
using testing::line;
using testing::path_of;

const Box3 kSheet{{0, 0, -20}, {120, 120, 0}};

Scene scene_of(const char* foam, HoldDownKind kind) {
  Scene scene;
  scene.sheet = kSheet;
  scene.layers = {{*find_foam(foam), 20}};
  scene.cutters = {flat_cutter(6, 30)};
  scene.cutters[0].helix_deg = 30;
  scene.machine.feed_mm_min = scene.machine.rapid_mm_min = {20000, 20000, 20000};
  scene.machine.acceleration_mm_s2 = {1e6, 1e6, 1e6};
  scene.hold_down.kind = kind;
  scene.hold_down.tension_kPa = {30, 15, 60, "a guess", true};
  scene.hold_down.shear_kPa = {20, 10, 40, "a guess", true};
  scene.hold_down.peel_N_mm = {0.1, 0.05, 0.2, "a guess", true};
  return scene;
}

struct Job {
  Path path;
  Motion motion;
  LoosePieces loose;
  HoldCheck check;
  std::vector<Finding> findings;
};
Job run(const Scene& scene, std::vector<Move> moves, const std::vector<Spot>& spots = {}) {
  Job job;
  for (Move& move : moves) {
    move.spindle_rpm = 18000;
    if (move.kind == MoveKind::line)
      move.feed_mm_min = 3000;
  }
  job.path = path_of(std::move(moves));
  job.motion = plan_motion(job.path, scene.machine);
  const RemovalRecord record = cut(scene.sheet, scene.cutters, job.path, 0.5);
  const RunGrid grid = run_grid(record);
  job.loose = find_loose_pieces(grid, {});
  place_on_path(job.loose, grid, job.path, job.motion, scene.cutters, 1);
  const JudgedJob judged{scene, job.path, job.motion, nullptr, {}, spots, {}};
  job.check = check_hold(judged, trace_cuts(record, job.path, 2), grid, job.loose);
  job.findings = hold_findings(job.check, job.loose);
  return job;
}

const std::vector<Move> kSlot{line({-10, 60, -15}, {130, 60, -15})};

/// A square pin of 6 x 6 mm, cut round to the table in two passes.
std::vector<Move> island() {
  std::vector<Move> moves;
  for (const double z : {-10.0, -20.0}) {
    moves.push_back(line({44, 44, z}, {56, 44, z}));
    moves.push_back(line({56, 44, z}, {56, 56, z}));
    moves.push_back(line({56, 56, z}, {44, 56, z}));
    moves.push_back(line({44, 56, z}, {44, 44, z}));
  }
  return moves;
}

bool has(const std::vector<Finding>& findings, FindingKind kind) {
  for (const Finding& finding : findings)
    if (finding.kind() == kind)
      return true;
  return false;
}

/// A web that snags at a place of the sheet while a move runs.
Spot snag_at(Vec3 place, std::uint32_t move) {
  Spot spot;
  spot.answer.s = 1.4;
  spot.answer.s_high = 2;
  spot.a_mm = 22;
  spot.place_mm = place;
  spot.tip_mm = {place.x, place.y + 3, place.z};
  spot.move = move;
  return spot;
}

TEST(HoldCheck, SaysSoWhenNoHoldDownIsGiven) {
  const Job job = run(scene_of("pe-32", HoldDownKind::none_given), kSlot);
  EXPECT_TRUE(job.check.worst.empty());
  ASSERT_EQ(job.findings.size(), 1u);
  EXPECT_EQ(job.findings[0].kind(), FindingKind::hold_down_not_given);
  EXPECT_FALSE(job.findings[0].stops_job);
}

TEST(HoldCheck, ForcesOfASlotAreTheFoamsEdgeForceOverTheEngagedEdge) {
  const Scene scene = scene_of("pe-32", HoldDownKind::tape);
  const Job job = run(scene, {line({30, 60, 5}, {30, 60, -15}), line({30, 60, -15}, {90, 60, -15})});
  // Two flutes, 18,000 rpm, 3 m/min: fz 0.0833 mm, mean chip over half a turn 2/pi fz = 0.05305 mm; one tooth
  // in the cut, 15 mm deep. Slice-push (Atkins, Xu and Jeronimidis 2004) at 30 degrees: 0.75 across, 0.433
  // along.
  const FoamCard& foam = scene.layers[0].foam;
  const double straight =
      std::min(foam.cut_force_N_mm.nominal, foam.severing_MJ_m3.nominal * 2 / kPi * 3000 / 36000);
  const auto slot =
      std::find_if(job.check.worst.begin(), job.check.worst.end(), [](const auto& m) { return m.line == 2; });
  ASSERT_NE(slot, job.check.worst.end());
  EXPECT_NEAR(slot->load.lateral_N, 0.75 * straight * 15, 0.02 * straight * 15);
  EXPECT_NEAR(slot->load.lift_N, 0.433 * straight * 15, 0.02 * straight * 15);
  // Half the depth over the table is 5 + 7.5 mm; the lift tips the patch about the edge, its arm the patch's
  // base.
  EXPECT_NEAR(slot->load.moment_N_mm,
              slot->load.lateral_N * 12.5 + slot->load.lift_N * (slot->edge_away_mm + 3 + 12.5), 1e-6);
  for (const HoldSample& sample : job.check.along)
    EXPECT_GE(sample.nominal, static_cast<float>(job.check.worst[0].safety.nominal));
}

TEST(HoldCheck, TheIslandIsTheWeakestAndItsPullIsTimedAfterItsRelease) {
  const Job job = run(scene_of("pu-22", HoldDownKind::tape), island());
  ASSERT_EQ(job.loose.pieces.size(), 1u);
  const HoldMoment& first = job.check.worst.front();
  EXPECT_EQ(first.piece, 0u);
  EXPECT_GE(first.move, job.loose.pieces[0].freed_by);
  EXPECT_NEAR(first.footprint.held_mm2, 6 * 6, 1e-6);
  const auto& said = std::get<fact::WeakHold>(job.findings[0].what);
  EXPECT_EQ(said.piece_line, 8);
  EXPECT_NEAR(said.held_mm2, 36, 1e-6);
}

TEST(HoldCheck, ASnagPullsWithTheTearOfAllFlutesInReach) {
  const Scene scene = scene_of("pu-22", HoldDownKind::tape);
  Spot spot;
  spot.answer.s = 1.4;
  spot.answer.s_high = 2;
  spot.a_mm = 22;
  spot.place_mm = {60, 57, -20};
  spot.tip_mm = {60, 60, -20};
  const Job job = run(scene, kSlot, {spot});
  const auto snag = std::find_if(job.check.worst.begin(), job.check.worst.end(),
                                 [](const HoldMoment& m) { return m.hold_case == HoldCase::snag; });
  ASSERT_NE(snag, job.check.worst.end());
  // "P about 13 N for soft PU, Lf 22": Gc 0.60 N/mm times 22 mm; its arm is half the reach over the table.
  EXPECT_NEAR(snag->load.lateral_N, 13.2, 0.1);
  EXPECT_NEAR(snag->load.moment_N_mm, 13.2 * 11, 1.5);
  EXPECT_TRUE(snag->expected);
}

TEST(HoldCheck, AHoldKnownExactlyIsAsUncertainAsTheForce) {
  Scene scene = scene_of("pu-22", HoldDownKind::tape);
  scene.hold_down.tension_kPa = {3, 3, 3, "measured", false};
  scene.hold_down.shear_kPa = {2, 2, 2, "measured", false};
  scene.hold_down.peel_N_mm = {0.01, 0.01, 0.01, "measured", false};
  Banded& Gc = scene.layers[0].foam.Gc_N_mm;
  Gc.nominal = 0.6, Gc.low = 0.5, Gc.high = 1.2;
  const Job job = run(scene, kSlot, {snag_at({60, 57, -20}, 0)});
  const auto snag = std::find_if(job.check.worst.begin(), job.check.worst.end(),
                                 [](const HoldMoment& m) { return m.hold_case == HoldCase::snag; });
  ASSERT_NE(snag, job.check.worst.end());
  // A factor is strength over force: twice the force, half the factor.
  EXPECT_NEAR(snag->safety.low, snag->safety.nominal / 2, 1e-9 * snag->safety.nominal);
  EXPECT_NEAR(snag->safety.high, snag->safety.nominal * 1.2, 1e-9 * snag->safety.nominal);
}

TEST(HoldCheck, TheEdgeIsTheNearestBorderOfTheSheet) {
  const Job job = run(scene_of("pe-32", HoldDownKind::tape), {line({30, 6, -15}, {90, 6, -15})});
  ASSERT_FALSE(job.check.worst.empty());
  for (const HoldMoment& moment : job.check.worst)
    EXPECT_NEAR(moment.edge_away_mm, 6, 1e-9); // the border y = 0
}

TEST(HoldCheck, ASnagPullsAtAPieceFromItsReleaseOn) {
  const Scene scene = scene_of("pu-22", HoldDownKind::tape);
  const auto pulls_at_piece = [](const Job& job) {
    return std::any_of(job.check.worst.begin(), job.check.worst.end(),
                       [](const HoldMoment& m) { return m.hold_case == HoldCase::snag && m.piece == 0u; });
  };
  // The pin of 6 x 6 mm about (50, 50) is cut free by the last of eight moves.
  EXPECT_TRUE(pulls_at_piece(run(scene, island(), {snag_at({50, 50, -20}, 7)})));
  EXPECT_FALSE(pulls_at_piece(run(scene, island(), {snag_at({50, 50, -20}, 2)})));
}

TEST(HoldCheck, MoreTapeNeverLowersAFactor) {
  std::mt19937 rng(5);
  const auto u = [&](double a, double b) { return std::uniform_real_distribution<double>(a, b)(rng); };
  for (int trial = 0; trial < 1000; ++trial) {
    Scene scene = scene_of(foam_cards()[static_cast<std::size_t>(trial) % foam_cards().size()].name.c_str(),
                           HoldDownKind::tape);
    const double height = u(1, 80);
    const Footprint patch = patch_under(u(0.5, 8), height, u(0, 120), u(10, 1e5));
    const double lateral = u(0, 20);
    const PieceLoad load{lateral, u(-5, 10), lateral * height};
    const double share = u(0.01, 0.9);
    scene.hold_down.tape_area_share = share;
    const Safety less = hold_safety(hold_strength(scene), patch, load);
    scene.hold_down.tape_area_share = u(share, 1);
    const Safety more = hold_safety(hold_strength(scene), patch, load);
    ASSERT_GE(more.nominal, less.nominal);
    ASSERT_GE(more.low, less.low);
    ASSERT_GE(more.high, less.high);
  }
}

TEST(HoldCheck, APatchIsADiscCutOffByTheEdge) {
  EXPECT_NEAR(patch_under(3, 17, 1000, 1e9).held_mm2, kPi * 400, 1e-9); // whole
  EXPECT_NEAR(patch_under(3, 17, 0, 1e9).held_mm2, kPi * 200, 1e-9);    // half at the edge
  // Segment of a circle (handbook): r^2 acos(d/r) - d sqrt(r^2 - d^2), at d = r/2.
  EXPECT_NEAR(patch_under(3, 17, 10, 1e9).held_mm2, kPi * 400 - (400 * kPi / 3 - 10 * std::sqrt(300.0)),
              1e-9);
  EXPECT_EQ(patch_under(3, 17, 1000, 50).held_mm2, 50);
}

TEST(HoldCheck, ZeroTapeHoldsNothingAndStopsTheJob) {
  Scene scene = scene_of("pe-32", HoldDownKind::tape);
  scene.hold_down.tape_area_share = 0;
  const Job job = run(scene, kSlot);
  ASSERT_FALSE(job.check.worst.empty());
  EXPECT_EQ(job.check.worst[0].safety.nominal, 0);
  ASSERT_TRUE(has(job.findings, FindingKind::weak_hold));
  EXPECT_TRUE(job.findings[0].stops_job);
}

TEST(HoldCheck, BareOpenCellsCannotBeHeldByVacuumAClosedCellSheetCan) {
  Scene scene = scene_of("pu-22", HoldDownKind::vacuum);
  scene.hold_down.vacuum_kPa = 20;
  scene.hold_down.film = Film::none;
  const Job bare = run(scene, kSlot);
  EXPECT_EQ(bare.check.clamping_kPa.nominal, 0);
  EXPECT_EQ(std::get<fact::ClampingPressure>(bare.findings[0].what).nominal_kPa, 0);
  EXPECT_TRUE(has(bare.findings, FindingKind::weak_hold));

  scene.layers[0].foam = *find_foam("pe-32");
  const Job closed = run(scene, kSlot);
  EXPECT_DOUBLE_EQ(closed.check.clamping_kPa.nominal, 20);
  EXPECT_GT(closed.check.worst[0].safety.nominal, bare.check.worst[0].safety.nominal);
}

TEST(HoldCheck, CuttingThroughTheFloorLosesTheSeal) {
  Scene scene = scene_of("pe-32", HoldDownKind::vacuum);
  scene.hold_down.vacuum_kPa = 20;
  const Job job = run(scene, island());
  ASSERT_TRUE(job.check.seal_lost);
  EXPECT_EQ(job.check.seal_lost->line, 5);
  EXPECT_TRUE(has(job.findings, FindingKind::seal_lost));
  for (const HoldMoment& moment : job.check.worst)
    EXPECT_EQ(moment.safety.low == 0, moment.line >= 5) << moment.line;
}

} // namespace
} // namespace snagmap
