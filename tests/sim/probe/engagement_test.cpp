// Engagement against milling geometry: engaged angle acos(1 - ae/R) on a straight wall, pi in a slot
// (Altintas, Manufacturing Automation), removed volume = radial width x depth x travel.
#include "models/mechanics/engagement.hpp"
#include "sim/probe/engagement.hpp"
#include "sim/probe/volumes.hpp"
#include "tests/sim/record_fixture.hpp"

#include <tbb/global_control.h>
#include <tbb/task_arena.h>

#include <cstring>

using namespace snagmap;
using namespace snagmap::testing;

namespace {

const Box3 kSheet{{0, 0, -30}, {100, 60, 0}};

/// Points within 1e-6 mm of a wall count as on it; where the rim of radius 3 leaves a wall tangentially that
/// is an angle of sqrt(2e-6 / 3) = 8e-4 at either end.
constexpr double kEdge_rad = 2e-3;

double removed(const Engagement& e, std::uint32_t move) {
  double sum = 0;
  for (std::uint32_t n = e.first_sample[move]; n < e.first_sample[move + 1]; ++n)
    sum += e.samples[n].removed_mm3;
  return sum;
}

} // namespace

TEST(RecordEngagement, FullSlotEngagesHalfATurn) {
  const Path path = path_of({line({-10, 30.1, -12}, {110, 30.1, -12})});
  const auto record = cut(kSheet, {flat_cutter(6, 25)}, path, 0.25);
  const Engagement e = engagement_of(record, path);
  for (const EngagementSample& sample : e.samples) {
    const double x = -10 + 120 * 0.5 * (sample.s0 + sample.s1);
    if (x < 4 || x > 96)
      continue;
    for (const Immersion& level : sample.levels) {
      EXPECT_NEAR(level.angle_rad, kPi, kEdge_rad);
      EXPECT_NEAR(level.from_rad, -kPi / 2, kEdge_rad);
      EXPECT_NEAR(level.to_rad, kPi / 2, kEdge_rad);
    }
    // Steady cut: travel x diameter x depth; columns come in rows of a voxel, so a sample may gain or lose
    // one.
    const double travel = 120 * (sample.s1 - sample.s0);
    EXPECT_NEAR(sample.removed_mm3, travel * 6 * 12, 0.25 * 6 * 12 + 0.02 * travel * 6 * 12);
    EXPECT_NEAR(sample.low_mm, -12, 1e-5);
    EXPECT_NEAR(sample.high_mm, 0, 1e-5);
  }
}

TEST(RecordEngagement, SidePassMatchesTheTextbookAngle) {
  const double R = 3;
  for (double ae : {0.5, 1.5, 3.0, 4.5}) {
    // The second pass runs beside the slot of the first and takes ae off its wall.
    const Path path =
        path_of({line({-10, 20, -10}, {110, 20, -10}), line({110, 20 + ae, -10}, {-10, 20 + ae, -10})});
    const auto record = cut(kSheet, {flat_cutter(2 * R, 25)}, path, 0.5);
    const Engagement e = engagement_of(record, path);
    const double expected = engaged_angle_rad(2 * R, ae);
    for (std::uint32_t n = e.first_sample[1]; n < e.first_sample[2]; ++n) {
      const double x = 110 - 120 * 0.5 * (e.samples[n].s0 + e.samples[n].s1);
      if (x < 4 || x > 96)
        continue;
      // Foam ahead of the second pass, from the old wall to its own: on the right of the heading -x.
      EXPECT_NEAR(e.samples[n].levels[1].angle_rad, expected, kEdge_rad) << ae;
      EXPECT_NEAR(e.samples[n].levels[1].from_rad, -kPi / 2, kEdge_rad);
    }
  }
}

TEST(RecordEngagement, FinishedWallIsNotInTheCut) {
  const Path path = path_of({line({-10, 20, -10}, {110, 20, -10}), line({-10, 20, -10}, {110, 20, -10})});
  const auto record = cut(kSheet, {flat_cutter(6, 25)}, path, 0.5);
  const Engagement e = engagement_of(record, path);
  for (std::uint32_t n = e.first_sample[1]; n < e.first_sample[2]; ++n) {
    EXPECT_EQ(e.samples[n].removed_mm3, 0);
    EXPECT_EQ(e.samples[n].levels[0].angle_rad, 0) << n;
  }
  EXPECT_FALSE(e.contact[1]);
}

TEST(RecordEngagement, SamplesAddUpToTheMovesVolume) {
  const Path path = path_of({line({20, 30, 5}, {20, 30, -9}), line({20, 30, -9}, {70, 41, -14}),
                             arc({70, 41, -14}, {60, 41}, 4.0, 2), line({50, 20, -6}, {50, 20, -6})});
  CutterCard ball = flat_cutter(8, 25);
  ball.tip = TipShape::ball;
  for (const CutterCard& card : {flat_cutter(6, 25), ball}) {
    const auto record = cut(kSheet, {card}, path, 0.25);
    const Engagement e = engagement_of(record, path);
    const std::vector<double> whole = removed_mm3(record);
    for (std::uint32_t m = 0; m < 3; ++m)
      EXPECT_NEAR(removed(e, m), whole[m], 1e-4 * whole[m]) << m;
  }
}

TEST(RecordEngagement, ContactBeginsAndEndsWhereTheRimMeetsTheSheet) {
  // Test P1 and P2 of strand practice: D 6, path -10..110 through a block 0..100: the rim enters at x = -3
  // and the last foam is met at 97; a grazing tail shortens it by up to sqrt(r h) + h.
  const double h = 0.25, tail = std::sqrt(3 * h) + h;
  const Path path = path_of({line({-10, 30, -5}, {110, 30, -5})});
  const Engagement e = engagement_of(cut(kSheet, {flat_cutter(6, 25)}, path, h), path);
  EXPECT_NEAR(-10 + 120 * e.contact[0]->first, -3, h);
  EXPECT_NEAR(-10 + 120 * e.contact[0]->last, 100, tail + h);
  int enters = 0, leaves = 0;
  for (const EngagementSample& sample : e.samples)
    enters += sample.enters, leaves += sample.leaves;
  EXPECT_EQ(enters, 1);
  EXPECT_EQ(leaves, 1);
}

TEST(RecordEngagement, PlungeIsEngagedAllRoundAndTakesFoamAsItSinks) {
  const Path path = path_of({line({50, 30, 10}, {50, 30, -20})});
  const auto record = cut(kSheet, {flat_cutter(6, 25)}, path, 0.25);
  const Engagement e = engagement_of(record, path);
  EXPECT_NEAR(e.contact[0]->first, 10.0 / 30, 0.05);
  for (const EngagementSample& sample : e.samples) {
    const double z0 = 10 - 30 * sample.s0, z1 = 10 - 30 * sample.s1;
    const double expected = kPi * 9 * (std::min(z0, 0.0) - std::min(z1, 0.0));
    // Eight height steps of 2.5 mm fall whole into samples of 1.5 mm.
    EXPECT_NEAR(sample.removed_mm3, expected, kPi * 9 * 2.5 * 1.02);
  }
}

TEST(RecordEngagement, SameBitsOnOneTwoAndFourThreads) {
  const tbb::global_control allow(tbb::global_control::max_allowed_parallelism, 4);
  std::vector<Move> moves;
  for (int n = 0; n < 20; ++n) {
    moves.push_back(line({5, 5.0 + 2.5 * n, -4.0 - n}, {95, 6.0 + 2.5 * n, -6.0 - n}));
    moves.push_back(arc(moves.back().to, {80, 8.0 + 2 * n}, n % 2 ? 2.5 : -2.5));
  }
  const Path path = path_of(moves);
  const auto record = cut(kSheet, {flat_cutter(6, 9)}, path);
  std::vector<float> bits;
  for (int threads : {1, 2, 4}) {
    tbb::task_arena arena(threads);
    const Engagement e = arena.execute([&] { return engagement_of(record, path); });
    std::vector<float> now;
    for (const auto& contact : e.contact)
      if (contact)
        now.insert(now.end(), {contact->first, contact->last});
    for (const EngagementSample& s : e.samples) {
      now.insert(now.end(), {s.removed_mm3, s.low_mm, s.high_mm});
      for (const Immersion& level : s.levels)
        now.insert(now.end(), {level.z_mm, level.angle_rad, level.from_rad, level.to_rad});
    }
    if (bits.empty())
      bits = now;
    ASSERT_EQ(bits.size(), now.size());
    EXPECT_EQ(std::memcmp(bits.data(), now.data(), bits.size() * sizeof(float)), 0) << threads;
  }
}
