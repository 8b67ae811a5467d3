// Strand lengths through the whole cut. The four paths and their lengths are closed forms of a disc crossing
// a block: it bites from one radius before the first face (less at a side pass) until its centre leaves the
// last.
#include "sim/checks/strands.hpp"
#include "tests/sim/record_fixture.hpp"

#include <cmath>

namespace snagmap {
namespace {

using testing::cut;
using testing::flat_cutter;
using testing::line;
using testing::path_of;

constexpr double kVoxel_mm = 0.1, kRadius_mm = 3, kDepth_mm = 5;
/// A reading is short by up to a grazing tail and a voxel, or long by a voxel.
const double kShort_mm = std::sqrt(kRadius_mm * kVoxel_mm) + kVoxel_mm, kLong_mm = kVoxel_mm;

Scene scene_with(double diameter_mm) {
  Scene scene;
  scene.cutters = {flat_cutter(diameter_mm, 20)};
  scene.cutters[0].flutes = 1;
  scene.layers = {{*find_foam("pe-32"), 20}};
  scene.machine.feed_mm_min = scene.machine.rapid_mm_min = {20000, 20000, 20000};
  scene.machine.acceleration_mm_s2 = {1e6, 1e6, 1e6};
  return scene;
}

Strands strands_of(const Box3& box, std::vector<Move> moves, double voxel_mm = kVoxel_mm) {
  for (Move& move : moves) {
    move.spindle_rpm = 18000;
    if (move.kind == MoveKind::line)
      move.feed_mm_min = 7000;
  }
  const Scene scene = scene_with(2 * kRadius_mm);
  const Path path = path_of(std::move(moves));
  const Motion motion = plan_motion(path, scene.machine);
  return find_strands(trace_cuts(cut(box, scene.cutters, path, voxel_mm), path, 2), path, motion, scene, {});
}

void expect_length(double read, double exact) {
  EXPECT_LE(read, exact + kLong_mm);
  EXPECT_GE(read, exact - kShort_mm);
}

const Box3 kBlock{{0, -6, -10}, {100, 6, 0}};

TEST(Strands, ASlotThroughABlockIsOneRunFromTheFirstBiteToTheLastFace) {
  const Strands strands = strands_of(kBlock, {line({-10, 0, -kDepth_mm}, {110, 0, -kDepth_mm})});
  ASSERT_EQ(strands.runs.size(), 1u);
  expect_length(strands.longest_mm, 103);
  const StrandRun& run = strands.runs[0];
  EXPECT_NEAR(run.volume_mm3, 100 * 6 * 5, 1e-3);
  EXPECT_NEAR(run.depth_mm, 5, 1e-6);
  EXPECT_TRUE(run.slot);
  EXPECT_EQ(run.risk, StrandRisk::high); // over 75 mm, the slot's half of 150
  // One flute, 18,000 rpm, 7 m/min: fz 0.389 mm, 24.2 mm of strip for each mm of travel, 5.3 turns round a 6
  // mm cutter for each 100 mm. The mean feed of the run is the programmed one (the machine has no lag to
  // speak of).
  EXPECT_NEAR(run.chip_mm, 0.3889, 0.004);
  EXPECT_NEAR(run.strip_mm / run.length_mm, 24.2, 0.3);
  EXPECT_NEAR(100 * run.turns_round_cutter / run.length_mm, 5.3, 0.05);
  EXPECT_NEAR(run.mass_g, 3000 * 32e-6, 1e-6);
  EXPECT_NEAR(run.from_mm.x, -3, kShort_mm);
  EXPECT_NEAR(run.to_mm.x, 100, kShort_mm);
}

TEST(Strands, GapsClearedBeforeBreakTheRun) {
  std::vector<Move> moves;
  // Square-ended gaps 10 wide over the whole block: the same cutter sweeps across, 20 to 30 and so on.
  for (const double x : {20.0, 50.0, 80.0})
    for (const double at : {3.0, 7.0})
      moves.push_back(line({x + at, -20, -6}, {x + at, 20, -6}, MoveKind::rapid));
  const std::size_t before = moves.size();
  moves.push_back(line({-10, 0, -kDepth_mm}, {110, 0, -kDepth_mm}));
  const Strands strands = strands_of(kBlock, moves);
  std::vector<double> lengths;
  for (const StrandRun& run : strands.runs)
    if (run.from_move == before)
      lengths.push_back(run.length_mm);
  ASSERT_EQ(lengths.size(), 4u);
  for (int n = 0; n < 3; ++n)
    expect_length(lengths[n], 23);
  expect_length(lengths[3], 13);
}

TEST(Strands, ASidePassBitesLater) {
  // ae 1.5: the disc reaches the corner sqrt(r^2 - (r - ae)^2) before its centre.
  const Strands strands = strands_of(kBlock, {line({-10, 6 + 1.5, -kDepth_mm}, {110, 6 + 1.5, -kDepth_mm})});
  ASSERT_EQ(strands.runs.size(), 1u);
  expect_length(strands.longest_mm, 100 + std::sqrt(9 - 2.25));
  EXPECT_NEAR(strands.runs[0].width_mm, 1.5, 0.03); // length reads up to 0.65 % short
  EXPECT_FALSE(strands.runs[0].slot);
}

TEST(Strands, AZigZagWithoutALiftIsOneRunOverTheWholePath) {
  std::vector<Move> moves;
  double path_mm = 0;
  Vec3 at{20, -60, -kDepth_mm};
  for (int row = 0; row < 6; ++row) {
    const Vec3 to{row % 2 == 0 ? 80.0 : 20.0, at.y, at.z};
    moves.push_back(line(at, to));
    path_mm += norm(to - at);
    at = to;
    if (row == 5)
      break;
    const Vec3 up{at.x, at.y + 3, at.z};
    moves.push_back(line(at, up));
    path_mm += 3;
    at = up;
  }
  const Strands strands = strands_of({{0, -80, -10}, {100, -30, 0}}, moves);
  ASSERT_EQ(strands.runs.size(), 1u);
  expect_length(strands.longest_mm, path_mm);
}

TEST(Strands, ARetractEndsARunHoweverShortItsTop) {
  const double x = 50;
  // Up and down within the way that a trace bridges.
  const double up = -5 + 0.2 * kTraceGap_mm;
  const std::vector<Move> moves{line({-10, 0, -5}, {x, 0, -5}), line({x, 0, -5}, {x, 0, up}),
                                line({x, 0, up}, {x, 0, -5}), line({x, 0, -5}, {110, 0, -5})};
  EXPECT_EQ(strands_of(kBlock, moves).runs.size(), 2u);
}

TEST(Strands, BreaksCutEveryListedRunDownToLowRisk) {
  const Strands strands = strands_of(kBlock, {line({-10, 0, -5}, {110, 0, -5})});
  const StrandRun& run = strands.runs[0];
  // Slots are of low risk up to 20 mm: 103 mm want five breaks.
  ASSERT_EQ(strands.breaks.size(), 5u);
  double last = run.from_mm.x;
  for (const StrandBreak& place : strands.breaks) {
    EXPECT_LE(place.tip_mm.x - last, 20);
    EXPECT_EQ(place.line, 1);
    last = place.tip_mm.x;
  }
  EXPECT_LE(run.to_mm.x - last, 20);
}

TEST(Strands, TheRunThatDoesNotFitRoundTheNeckSaysSo) {
  Scene scene = scene_with(6);
  scene.cutters[0].neck_diameter_mm = 4;
  scene.cutters[0].neck_length_mm = 30;
  Path path = path_of({line({-10, 0, -5}, {110, 0, -5})});
  path.moves[0].spindle_rpm = 18000;
  const Motion motion = plan_motion(path, scene.machine);
  const Strands strands =
      find_strands(trace_cuts(cut(kBlock, scene.cutters, path, 0.5), path, 2), path, motion, scene, {});
  ASSERT_EQ(strands.runs.size(), 1u);
  EXPECT_NEAR(strands.runs[0].neck_room_mm3, 471, 0.5); // pi/4 (6^2 - 4^2) 30
  EXPECT_NEAR(strands.runs[0].volume_mm3, 3000, 1e-3);  // 100 x 6 x 5
  const std::vector<Finding> findings = strand_findings(strands);
  ASSERT_EQ(findings.size(), 1u);
  EXPECT_EQ(findings[0].program_line, 1);
  const auto& said = std::get<fact::Strand>(findings[0].what);
  EXPECT_EQ(said.volume_mm3, strands.runs[0].volume_mm3);
  EXPECT_EQ(said.neck_room_mm3, strands.runs[0].neck_room_mm3);
}

TEST(Strands, RanksAreTakenFromTheShortestRun) {
  // Twenty side passes over blocks left standing: 19 short runs and one long; the 95 % rank is the 19th.
  std::vector<Move> moves;
  double y = -94;
  for (int n = 0; n < 20; ++n, y += 9) {
    const double reach = n == 7 ? 60.0 : 10.0;
    moves.push_back(line({-10, y, -5}, {reach, y, -5}));
    moves.push_back(line({reach, y, -5}, {reach, y, 5}));
    moves.push_back(line({reach, y, 5}, {-10, y + 9, 5}, MoveKind::rapid));
    moves.push_back(line({-10, y + 9, 5}, {-10, y + 9, -5}));
  }
  const Strands strands = strands_of({{0, -100, -10}, {80, 100, 0}}, moves, 0.5);
  ASSERT_EQ(strands.runs.size(), 20u);
  EXPECT_GT(strands.longest_mm, 60);
  EXPECT_LT(strands.p95_mm, 14);
  EXPECT_NEAR(strands.runs_a_metre, 20000 / strands.engaged_mm, 1e-9);
}

} // namespace
} // namespace snagmap
