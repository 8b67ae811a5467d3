// Volumes by move against closed forms of plane and solid geometry (any handbook of mathematics; Pappus for
// rings). The bound is the one sim/probe/removed.hpp states: 0.5 %, whatever the voxel.
#include "sim/checks/strands.hpp"
#include "sim/probe/removed.hpp"
#include "sim/probe/volumes.hpp"
#include "tests/sim/record_fixture.hpp"

#include <tbb/global_control.h>
#include <tbb/task_arena.h>

#include <cstring>
#include <numeric>
#include <random>

using namespace snagmap;
using namespace snagmap::testing;

namespace {

const Box3 kSheet{{-50, -50, -30}, {50, 50, 0}};
constexpr double kBound = 0.005;

/// The same place turned by an angle and shifted off the columns.
struct Turned {
  double angle;
  Vec3 operator()(double along, double across, double z) const {
    const double c = std::cos(angle), s = std::sin(angle);
    return {c * along - s * across + 0.134, s * along + c * across - 0.07, z};
  }
};

/// What a disc takes when it stands w beside where it stood.
double lune(double r, double w) {
  return kPi * r * r - (2 * r * r * std::acos(w / (2 * r)) - w / 2 * std::sqrt(4 * r * r - w * w));
}

CutterCard pointed(TipShape tip, double diameter_mm) {
  CutterCard card = flat_cutter(diameter_mm, 25);
  card.tip = tip;
  card.taper_deg = 45;
  return card;
}

std::vector<Move> zig_zag(double a, double b, double step, double z) {
  std::vector<Move> moves{line({0, 0, z}, {a, 0, z}), line({a, 0, z}, {a, b, z}), line({a, b, z}, {0, b, z}),
                          line({0, b, z}, {0, 0, z})};
  for (double y = step; y < b; y += step)
    moves.push_back(line({0, y, z}, {a, y, z}));
  return moves;
}

} // namespace

TEST(RemovedVolume, NarrowSlotIsAStadiumTimesItsDepthAtAnyVoxelAndAngle) {
  const double d = 3.175, length = 40, depth = 6, exact = (length * d + kPi * d * d / 4) * depth;
  for (const double voxel : {0.1, 0.25, 0.5, 1.0})
    for (const double degrees : {0.0, 17.0, 45.0, 90.0}) {
      const Turned at{degrees * kPi / 180};
      const auto record =
          cut(kSheet, {flat_cutter(d, 25)}, path_of({line(at(-20, 0, -depth), at(20, 0, -depth))}), voxel);
      EXPECT_NEAR(removed_mm3(record)[0], exact, kBound * exact) << voxel << ' ' << degrees;
    }
}

// A ramp is as low as its floor at one end alone: the level move back over it takes what it left, a wedge.
TEST(RemovedVolume, ARampAndTheLevelMoveBackOverItTakeTheWholeSlot) {
  const double d = 6, length = 30, depth = 8, exact = (length * d + kPi * d * d / 4) * depth;
  for (const double degrees : {0.0, 33.0}) {
    const Turned at{degrees * kPi / 180};
    const auto record = cut(
        kSheet, {flat_cutter(d, 25)},
        path_of({line(at(-15, 0, 0), at(15, 0, -depth)), line(at(15, 0, -depth), at(-15, 0, -depth))}), 0.5);
    const std::vector<double> removed = removed_mm3(record);
    EXPECT_NEAR(removed[0] + removed[1], exact, kBound * exact) << degrees;
    EXPECT_GT(removed[1], 0.4 * exact) << degrees;
  }
}

TEST(RemovedVolume, SkimBesideAnOldWallIsItsWidthTimesItsLength) {
  const double r = 1.5875, length = 40, depth = 6;
  for (const double voxel : {0.1, 0.5, 1.0})
    for (const double degrees : {0.0, 17.0, 45.0, 90.0})
      for (const double w : {0.05, 0.2, 1.0}) {
        const Turned at{degrees * kPi / 180};
        const auto record = cut(kSheet, {flat_cutter(2 * r, 25)},
                                path_of({line(at(-20, 0, -depth), at(20, 0, -depth)),
                                         line(at(20, w, -depth), at(-20, w, -depth))}),
                                voxel);
        const double exact = (length * w + lune(r, w)) * depth;
        EXPECT_NEAR(removed_mm3(record)[1], exact, kBound * exact) << voxel << ' ' << degrees << ' ' << w;
      }
}

TEST(RemovedVolume, RoundGrooveAndRoundSkimAreRings) {
  const double r = 3, ring = 15, depth = 4;
  const auto area = [](double q) { return kPi * q * q; };
  for (const double w : {0.05, 0.2, 1.0}) {
    const auto removed = removed_mm3(cut(kSheet, {flat_cutter(2 * r, 25)},
                                         path_of({arc({ring + 1, 2, -depth}, {1, 2}, 2 * kPi),
                                                  arc({ring + w + 1, 2, -depth}, {1, 2}, -2 * kPi)})));
    const double groove = (area(ring + r) - area(ring - r)) * depth,
                 skim = (area(ring + w + r) - area(ring + r)) * depth;
    EXPECT_NEAR(removed[0], groove, kBound * groove);
    EXPECT_NEAR(removed[1], skim, kBound * skim) << w;
  }
}

TEST(RemovedVolume, HelixAndItsFloorBoreACylinder) {
  const double r = 3, depth = 12;
  for (const double ring : {0.5, 2.0, 2.9}) {
    const auto removed = removed_mm3(cut(kSheet, {flat_cutter(2 * r, 25)},
                                         path_of({arc({ring + 1, 2, 0}, {1, 2}, 6 * kPi, -depth),
                                                  arc({ring + 1, 2, -depth}, {1, 2}, 2 * kPi)})));
    const double exact = kPi * (ring + r) * (ring + r) * depth;
    EXPECT_NEAR(sum(removed), exact, kBound * exact) << ring;
  }
}

TEST(RemovedVolume, PartOfATightArcIsItsSectorAndWhatTheEndsAdd) {
  // Half a turn with the ring's radius q under the cutter's r: the disc swept covers the half disc of q + r,
  // and under the centre line what the two end discs hold below it: two half discs of r, q either side, which
  // overlap in a lune.
  const double r = 3, q = 1, depth = 4;
  const auto removed =
      removed_mm3(cut(kSheet, {flat_cutter(2 * r, 25)}, path_of({arc({q + 1, 2, -depth}, {1, 2}, kPi)})));
  const double overlap = 2 * r * r * std::acos(q / r) - 2 * q * std::sqrt(r * r - q * q);
  const double exact = (kPi * (q + r) * (q + r) / 2 + (kPi * r * r - overlap / 2)) * depth;
  EXPECT_NEAR(removed[0], exact, kBound * exact);
}

TEST(RemovedVolume, BallAndVeeFollowTheirSections) {
  const double r = 3, length = 30, deep = 8, h = 2.5, ring = 12;
  const double ball =
      length * (kPi * r * r / 2 + 2 * r * (deep - r)) + 2.0 / 3 * kPi * r * r * r + kPi * r * r * (deep - r);
  const double vee = length * h * h + kPi * h * h * h / 3;
  const double vee_ring = 2 * kPi * ring * h * h; // Pappus: the triangle's centroid goes round the ring
  for (const double voxel : {0.25, 1.0}) {
    EXPECT_NEAR(removed_mm3(cut(kSheet, {pointed(TipShape::ball, 2 * r)},
                                path_of({line({-15, 1, -deep}, {15, 1, -deep})}), voxel))[0],
                ball, kBound * ball);
    const CutterCard card = pointed(TipShape::drill_point, 2 * r);
    EXPECT_NEAR(removed_mm3(cut(kSheet, {card}, path_of({line({-15, 1, -h}, {15, 1, -h})}), voxel))[0], vee,
                kBound * vee);
    EXPECT_NEAR(removed_mm3(cut(kSheet, {card}, path_of({arc({ring, 0, -h}, {0, 0}, 2 * kPi)}), voxel))[0],
                vee_ring, kBound * vee_ring);
  }
}

TEST(RemovedVolume, SidewaysSkimWithABallIsItsWidthTimesTheDepth) {
  // Shifted sideways, a convex section gains the shift times its height; at the ends each height gains a
  // lune.
  const double r = 3, w = 0.2, deep = 8, length = 40;
  double exact = length * w * deep;
  const int slices = 20000; // midpoint rule over the height
  for (int n = 0; n < slices; ++n) {
    const double z = deep * (n + 0.5) / slices, q = z < r ? std::sqrt(r * r - (r - z) * (r - z)) : r;
    exact += (q > w / 2 ? lune(q, w) : kPi * q * q) * deep / slices;
  }
  const auto removed = removed_mm3(cut(kSheet, {pointed(TipShape::ball, 2 * r)},
                                       path_of({line({-20, 0.3, -deep}, {20, 0.3, -deep}),
                                                line({20, 0.3 + w, -deep}, {-20, 0.3 + w, -deep})})));
  EXPECT_NEAR(removed[1], exact, kBound * exact);
}

TEST(RemovedVolume, OverlappingRowsAddUpToThePocket) {
  const double r = 3, a = 33, b = 20, depth = 7;
  const double whole = (a * b + 2 * r * (a + b) + kPi * r * r) * depth;
  for (const double step : {0.7, 2.0, 5.5}) {
    std::vector<Move> moves = zig_zag(a, b, step, -depth);
    const std::vector<Move> below = zig_zag(a, b, step, -2 * depth);
    moves.insert(moves.end(), below.begin(), below.end());
    const auto removed = removed_mm3(cut(kSheet, {flat_cutter(2 * r, 25)}, path_of(moves)));
    const double upper =
        std::accumulate(removed.begin(), removed.begin() + static_cast<long>(moves.size() / 2), 0.0);
    EXPECT_NEAR(upper, whole, kBound * whole) << step;
    EXPECT_NEAR(sum(removed) - upper, whole, kBound * whole) << step;
  }
}

TEST(RemovedVolume, EachPieceOfASplitSlotTakesItsShare) {
  const double d = 3.175, depth = 6, length = 20;
  for (const int pieces : {2, 10, 100, 400}) {
    std::vector<Move> moves;
    const Turned at{0.3};
    for (int k = 0; k < pieces; ++k)
      moves.push_back(line(at(length * k / pieces, 0, -depth), at(length * (k + 1) / pieces, 0, -depth)));
    const auto removed = removed_mm3(cut(kSheet, {flat_cutter(d, 25)}, path_of(moves)));
    const double own = length / pieces * d * depth;
    for (std::size_t k = 1; k < removed.size(); ++k)
      EXPECT_NEAR(removed[k], own, kBound * own) << pieces << ' ' << k;
  }
}

TEST(RemovedVolume, OrderOfMovesShiftsVolumeBetweenThemButNotTheWhole) {
  std::mt19937 random(4);
  std::uniform_real_distribution<double> x(-55, 55), z(-25, -2);
  std::vector<Move> moves;
  for (int n = 0; n < 40; ++n) {
    const double level = z(random);
    moves.push_back(line({x(random), x(random), level}, {x(random), x(random), n % 3 ? level : z(random)}));
  }
  const double one = sum(removed_mm3(cut(kSheet, {flat_cutter(6, 40)}, path_of(moves))));
  std::shuffle(moves.begin(), moves.end(), random);
  const double other = sum(removed_mm3(cut(kSheet, {flat_cutter(6, 40)}, path_of(moves))));
  EXPECT_NEAR(one, other, kBound * one);
}

TEST(RemovedVolume, SameBitsOnOneTwoAndFourThreads) {
  const tbb::global_control allow(tbb::global_control::max_allowed_parallelism, 4);
  std::vector<Move> moves = zig_zag(30, 20, 2.3, -5);
  moves.push_back(arc({10, 5, -7}, {4, 6}, 4.4, -3));
  const auto record = cut(kSheet, {flat_cutter(6, 9)}, path_of(moves));
  std::vector<double> bits;
  for (const int threads : {1, 2, 4}) {
    tbb::task_arena arena(threads);
    const auto now = arena.execute([&] { return removed_mm3(record); });
    if (bits.empty())
      bits = now;
    ASSERT_EQ(bits.size(), now.size());
    EXPECT_EQ(std::memcmp(bits.data(), now.data(), bits.size() * sizeof(double)), 0) << threads;
  }
}

TEST(RemovedVolume, StrandsAreTheSameAtAnyVoxel) {
  // A finishing pass of 0.2 mm round a pocket: one run that no column of 1 mm could hold together.
  const double r = 3.175, w = 0.2, a = 40, b = 25, depth = 10;
  std::vector<Move> moves = zig_zag(a, b, 4, -depth);
  moves.push_back(line(moves.back().to, {a / 2, b / 2, -depth}));
  const std::size_t before = moves.size();
  const Vec3 rim[] = {{a / 2, b / 2, -depth}, {a / 2, -w, -depth}, {a + w, -w, -depth},
                      {a + w, b + w, -depth}, {-w, b + w, -depth}, {-w, -w, -depth},
                      {a / 2, -w, -depth}};
  for (int n = 0; n < 6; ++n)
    moves.push_back(line(rim[n], rim[n + 1]));
  for (Move& move : moves)
    move.spindle_rpm = 18000;
  const Path path = path_of(moves);
  Scene scene;
  scene.cutters = {flat_cutter(2 * r, 25)};
  scene.layers = {{*find_foam("pe-32"), 30}};
  scene.machine.feed_mm_min = scene.machine.rapid_mm_min = {20000, 20000, 20000};
  scene.machine.acceleration_mm_s2 = {1e6, 1e6, 1e6};
  const Motion motion = plan_motion(path, scene.machine);
  const double round = 2 * (a + b + 4 * w);
  for (const double voxel : {0.2, 1.0}) {
    const CutTrace trace = trace_cuts(cut(kSheet, scene.cutters, path, voxel), path, 2);
    const Strands strands = find_strands(trace, path, motion, scene, {});
    const StrandRun& last = strands.runs.back();
    EXPECT_EQ(last.from_move, before) << voxel;
    // Where it begins is known to half of what the widest of the five lines over 8 mm of way stands for.
    EXPECT_NEAR(last.length_mm, round + w, 0.5 * 8 * 0.2844) << voxel;
    // The ring between two rounded rectangles.
    const double ring = (2 * (a + b) * w + 4 * w * (w + 2 * r)) * depth;
    EXPECT_NEAR(last.volume_mm3, ring, kBound * ring) << voxel;
  }
}

TEST(RemovedVolume, AReliefOfTenthsIsCountedByColumnsAndStillSumsToItsArea) {
  const double a = 20, b = 12, depth = 4, r = 3.175, step = 0.1, apart = 0.5, voxel = 0.5;
  std::vector<Move> moves;
  Vec3 at{0.03, 0.02, -depth};
  const auto go = [&](Vec3 to) { moves.push_back(line(at, to)), at = to; };
  for (int row = 0; row <= 24; ++row) {
    for (int n = 1; n <= 200; ++n)
      go({0.03 + step * (row % 2 ? 200 - n : n), at.y,
          -depth + (n % 2) * 1e-4}); // slopes, by next to nothing
    if (row < 24)
      go({at.x, at.y + apart, -depth + 1e-4});
  }
  const auto record = cut(kSheet, {flat_cutter(2 * r, 25)}, path_of(moves), voxel);
  // A rectangle rounded by the cutter. Columns know its border within half of their spacing.
  const double around = 2 * (a + b) + 2 * kPi * r, exact = (a * b + 2 * r * (a + b) + kPi * r * r) * depth;
  EXPECT_NEAR(sum(removed_mm3(record)), exact, 0.5 * voxel * around * depth);
  // What is told of it says how much was counted: most, but not the first rows, which nothing crowds.
  const CutTrace trace = trace_cuts(record, path_of(moves), 2);
  EXPECT_GT(trace.columns_mm3, 0.3 * exact);
  EXPECT_LT(trace.columns_mm3, exact);
  EXPECT_EQ(
      trace_cuts(cut(kSheet, {flat_cutter(2 * r, 25)}, path_of({line({10, 10, -4}, {60, 10, -4})}), voxel),
                 path_of({line({10, 10, -4}, {60, 10, -4})}), 2)
          .columns_mm3,
      0);
  const ChordRuns runs(record.data().sweeps);
  const SweepStacks stacks = stacks_of(record.data(), runs);
  RemovedBy by(record.data(), stacks, runs);
  double late = 0; // 10 mm of one row in the middle: a band 0.5 mm wide
  for (std::uint32_t n = 20 * 201 + 50; n < 20 * 201 + 150; ++n)
    for (const RemovedPart& part : by.sweep(n)) {
      EXPECT_EQ(part.area_mm2, record.data().grid.dx * record.data().grid.dy);
      late += part.volume_mm3();
    }
  // A row of columns more or less, and one at either end.
  EXPECT_NEAR(late, 10 * apart * depth, (10 + 2 * voxel) * voxel * depth);
  EXPECT_GT(late, 0);
}
