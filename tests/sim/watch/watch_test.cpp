// What the watch reads off a cut, against the drawing the cut was made from; and the pipeline's promises.
#include "tests/sim/comb.hpp"

#include "sim/results/results.hpp"
#include "sim/watch/web_walk.hpp"
#include "tests/sim/slot_job.hpp"

#include <tbb/global_control.h>

using namespace snagmap;

namespace {

/// The worst spot of a wall in its deepest pass.
const Spot* worst_of(const comb::Job& job, const Preview& found, std::size_t wall) {
  for (const Spot& spot : found.spots)
    if (std::abs(spot.place_mm.x - comb::left_face_mm(job, wall) - job.widths_mm[wall]) < 0.1 &&
        std::abs(spot.place_mm.z + comb::kDepth_mm) < 0.01)
      return &spot;
  return nullptr;
}

} // namespace

TEST(Watch, AWallHasTheNumbersOfItsDrawing) {
  comb::Job job{{7.3, 11.1}};
  const Preview found = comb::run(job);
  for (std::size_t wall = 0; wall < 2; ++wall) {
    const Spot* spot = worst_of(job, found, wall);
    ASSERT_TRUE(spot);
    const Web& web = spot->question.web;
    EXPECT_NEAR(web.w_mm, job.widths_mm[wall],
                0.02 * job.voxel_mm); // walls are exact to 0.01 voxel on planes, two of them
    EXPECT_NEAR(web.h_mm, comb::kDepth_mm, 1e-3);
    EXPECT_NEAR(web.length_mm(), comb::kLength_mm, 0.02 * job.voxel_mm + 0.05);
    EXPECT_EQ(web.end1, WebEnd::free);
    EXPECT_EQ(web.end2, WebEnd::free);
    EXPECT_NEAR(spot->a_mm, job.flute_length_mm, 1e-3);
    EXPECT_NEAR(spot->question.pass_depth_mm, comb::kDepth_mm - 3 * job.pass_mm, 1e-6);
    EXPECT_NEAR(spot->normal.x, 1, 1e-3); // toward the pocket that frees it, on its right
  }
}

// A face on the middle of a column of the record took that column for the wall's top: the web was not seen at
// all.
TEST(Watch, AWallIsSeenWhereverItsFaceFallsInAColumn) {
  comb::Job job{
      {7, 7.125, 7.125, 7.125}}; // right faces 0, 0.125, 0.25 and 0.375 mm past a multiple of the voxel
  const Preview found = comb::run(job);
  const std::vector<double> s = comb::s_of_walls(job, found);
  for (std::size_t wall = 1; wall < 4; ++wall)
    EXPECT_NEAR(s[wall], s[0] * std::pow(7 / 7.125, 3), 0.05 * s[0])
        << wall; // bending: no more than the cube
}

TEST(Watch, AWallThatRunsIntoThickFoamHasBuiltInEnds) {
  comb::Job job{{8}};
  job.free_ends = false;
  const Preview found = comb::run(job);
  const Spot* spot = worst_of(job, found, 0);
  ASSERT_TRUE(spot);
  EXPECT_EQ(spot->question.web.end1, WebEnd::built_in);
  EXPECT_EQ(spot->question.web.end2, WebEnd::built_in);
  // The round corners never make it twice as thick, so it goes up to the pockets' ends; each to 0.3 % of its
  // distance.
  EXPECT_NEAR(spot->question.web.length_mm(), comb::kLength_mm, 0.003 * comb::kLength_mm);
}

TEST(Watch, SamplesBesideABuiltInWallCarryItsEnds) {
  comb::Job job{{7}};
  job.free_ends = false;
  const Preview found = comb::run(job);
  std::size_t seen = 0;
  for (const Spot& spot : found.spots) {
    const Web& web = spot.question.web;
    if (std::abs(web.w_mm - 7) > 0.05)
      continue;
    ++seen;
    // A walk goes six heights far: what it has not met by then counts as no end at all.
    for (const auto& [distance_mm, end] : {std::pair(web.d1_mm, web.end1), std::pair(web.d2_mm, web.end2)})
      if (distance_mm < 6 * web.h_mm - 1e-3) {
        EXPECT_EQ(end, WebEnd::built_in) << spot.program_line;
      }
  }
  EXPECT_GT(seen, 0u);
}

// A disc fills pi/4 of the square round it; as stiff as a square post of that share it comes near finite
// elements. Its ends lie half its thickness away, just where the walk's first step ends.
TEST(Watch, ARoundPostIsFreeAtBothEndsAndFillsPiOverFourOfItsSquare) {
  Scene scene = slot::scene();
  scene.program_file = "post.nc";
  scene.program_text = "G21 G90 T1 M6\nS18000 M3 G0 X49 Y0 Z5\nG1 Z-6 F1000\nG3 X49 Y0 I-9 J0 F2000\n"
                       "G1 Z-12 F1000\nG3 X49 Y0 I-9 J0 F2000\nG0 Z5\nM30\n";
  const Outcome<Preview> found = preview(scene, PreviewOptions{}); // islands are verified
  ASSERT_TRUE(found) << to_text(found.faults().front());
  const Spot& spot = found->spots.front();
  EXPECT_NEAR(spot.question.web.w_mm, 12, 0.02);
  EXPECT_NEAR(spot.question.web.fill, std::acos(-1.0) / 4, 0.02); // eight chords: 1 % of the disc
  ASSERT_TRUE(spot.fe && spot.fe->verified);
  EXPECT_NEAR(spot.by_formula().s / spot.s(), 1,
              0.1); // 0.8 as if it were square, 0.3 with one end taken as built in
}

// Foam between four holes has air on both sides of its middle, as a post has; but it widens into the sheet.
TEST(Watch, TheNeckBetweenFourHolesIsNoPost) {
  std::string lines;
  for (const auto& [x, y] : {std::pair(31, -10), {51, -10}, {31, 10}, {51, 10}}) // 13.2 mm wide, 6.8 mm apart
    for (const int z : {-6, -12})
      lines += fmt::format("G0 X{} Y{}\nG1 Z{} F1000\nG1 X{} F2000\nG3 X{} Y{} I-3.6 J0\nG0 Z5\n", x, y, z,
                           x + 3.6, x + 3.6, y);
  const Preview found = slot::run(slot::scene(), lines);
  ASSERT_FALSE(found.webs.empty());
  for (const WebFound& web : found.webs)
    EXPECT_FALSE(web.island) << web.id;
}

TEST(Watch, EveryWallIsOneWeb) {
  comb::Job job{{6, 9, 12}};
  const Preview found = comb::run(job);
  for (std::size_t wall = 0; wall < 3; ++wall) {
    std::vector<int> webs;
    for (const Spot& spot : found.spots)
      if (std::abs(spot.place_mm.x - comb::left_face_mm(job, wall) - job.widths_mm[wall]) < 0.1 &&
          std::abs(spot.normal.x - 1) < 0.01)
        webs.push_back(spot.web);
    ASSERT_FALSE(webs.empty());
    for (int web : webs)
      EXPECT_EQ(web, webs.front());
  }
}

TEST(Watch, AHalfVoxelShiftOrAFinerGridChangesNoWall) {
  comb::Job job{{8.2}};
  const Preview coarse = comb::run(job);
  job.voxel_mm = 0.25;
  const Preview fine = comb::run(job);
  const Spot *a = worst_of(job, coarse, 0), *b = worst_of(job, fine, 0);
  ASSERT_TRUE(a && b);
  EXPECT_NEAR(a->question.web.w_mm, b->question.web.w_mm, 0.02 * 0.5);
}

TEST(Preview, TheSameBytesOnAnyNumberOfThreads) {
  const comb::Job job{{6, 10, 19}};
  std::vector<std::string> results;
  for (int threads : {1, 2, 4}) {
    const tbb::global_control limit(tbb::global_control::max_allowed_parallelism, threads);
    results.push_back(result_json(comb::run(job)));
  }
  EXPECT_EQ(results[0], results[1]);
  EXPECT_EQ(results[0], results[2]);
  EXPECT_GT(results[0].size(), 1000u);
}

namespace {

/// All walls that the watch sees along a program in the slot's scene, with the samples they are seen from.
struct Seen {
  Preview found;
  std::vector<Sample> samples;
  std::vector<WallSeen> walls;
  Vec2 tip(const WallSeen& wall) const { return xy(samples[wall.sample].tip_mm); }
};
Seen seen_along(const std::string& lines) {
  Seen seen{slot::run(slot::scene(), lines), {}, {}};
  seen.samples = sample_path(seen.found.path, 0.5, 0);
  seen.walls =
      watch(*seen.found.record, seen.found.path, seen.found.scene.cutters, seen.samples, WatchOptions{})
          .walls;
  return seen;
}

std::string lane(double y, double from, double to) {
  return fmt::format("G0 X{} Y{}\nG1 Z-8 F800\nG1 X{} F2000\nG0 Z5\n", from, y, to);
}

std::string groove(double radius, double z) {
  return fmt::format("G0 X{0} Y0\nG1 Z{1} F800\nG3 X{0} Y0 I-{2} J0 F2000\nG0 Z5\n", 50 + radius, z, radius);
}

} // namespace

TEST(Watch, ARoundPostIsMetTowardItsMiddle) {
  // A post of radius 6 about (50, 0), passed along y = 9.5: no look of the 16 points at its middle but by
  // chance, and the chord that a look meets stands as much as 8 degrees off.
  const Seen seen = seen_along(groove(9, -8) + lane(9.5, 40, 60));
  int looks = 0;
  for (const WallSeen& wall : seen.walls) {
    const Vec2 tip = seen.tip(wall), to_middle = Vec2{50, 0} - tip;
    if (std::abs(tip.y - 9.5) > 1e-6 || norm(wall.face_mm - Vec2{50, 0}) > 6.05)
      continue;
    ++looks;
    EXPECT_GT(dot(wall.normal, to_middle) / norm(to_middle), std::cos(2 * std::acos(-1.0) / 180)) << tip.x;
  }
  EXPECT_GT(looks, 2);
}

TEST(Watch, AWallEndsWhereTheFoamIsTwiceAsThick) {
  // 4 mm between lanes up to x = 50, 12 mm from there on: 27 times as stiff, which builds the thin wall in.
  // The lanes end in half discs of radius 3, so the thin wall has twice its thickness where both faces have
  // gone back 2 mm: sqrt(3^2 - (3 - 2)^2) past x = 50, to 0.3 % of the distance.
  const Preview found =
      slot::run(slot::scene(), lane(0, 0, 50) + lane(-4, 50, 110) + lane(10, 0, 50) + lane(14, 50, 110));
  const WebPlace place{{25, 5}, {1, 0}, -4, 4, 8};
  const Walked walked = walk_web(*found.record, place, static_cast<Moment>(found.path.moves.size()));
  EXPECT_EQ(walked.end2, WebEnd::built_in);
  EXPECT_NEAR(walked.d2_mm, 25 + std::sqrt(8), 0.003 * 28);
}

// Behind a wall built in at both ends: the shorter it is, the stiffer, by every half millimetre.
TEST(Watch, ASlotHalfAMillimetreLongerLeavesAWallThatMuchLonger) {
  for (double length = 20; length < 25; length += 0.5) {
    const Preview found = slot::run(slot::scene(), lane(0, 30 - length / 2, 30 + length / 2) +
                                                       lane(10, 30 - length / 2, 30 + length / 2));
    const Walked walked = walk_web(*found.record, {{30, 5}, {1, 0}, -4, 4, 8}, found.record->end());
    EXPECT_NEAR(walked.d1_mm + walked.d2_mm, length + 2 * std::sqrt(8), 0.003 * 28) << length;
  }
}

TEST(Watch, ARingOfFoamHasNoEnds) {
  // 4 mm between grooves on radii 10 and 20: 94 mm round, less than the six heights that a walk goes.
  const Seen seen = seen_along(groove(10, -9) + groove(10, -18) + groove(20, -9) + groove(20, -18));
  int rings = 0, walls = 0;
  for (const WallSeen& wall : seen.walls)
    if (std::abs(wall.w_mm - 4) < 0.05 && wall.h_mm > 17) {
      ++walls;
      rings += wall.ring;
    }
  EXPECT_GT(walls, 10);
  EXPECT_EQ(rings, walls);
}

// A wall 9 mm thick on a foot of 12 mm: along the foot the flutes, long enough for all of it, reach no higher
// than the ledge, and what stands 3 mm back above it is not theirs.
TEST(Watch, FlutesReachNoHigherThanTheLedgeTheyRunAlong) {
  const Preview found = slot::run(slot::scene(), "G0 X0 Y0 Z5\nG1 Z-12 F1000\nG1 X100\nG0 Z5\n"
                                                 "G0 X0 Y15\nG1 Z-5\nG1 X100\nG0 Z5\n"
                                                 "G0 X0 Y18\nG1 Z-12\nG1 X100\nG0 Z5");
  int along_the_foot = 0;
  for (const Spot& spot : found.spots)
    if (std::abs(spot.tip_mm.y - 18) < 1e-6 && spot.normal.y > 0.99) {
      ++along_the_foot;
      EXPECT_NEAR(spot.place_mm.y, 15, 1e-3);
      EXPECT_NEAR(spot.question.web.h_mm, 12, 1e-3);
      EXPECT_NEAR(spot.question.contact.high_mm, 7, 0.03); // looks just under an edge, to 0.02 mm
    }
  EXPECT_GT(along_the_foot, 0);
}
