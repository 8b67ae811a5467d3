// What the judge asks of a wall, and how walls become spots.
#include "sim/judge/spots.hpp"
#include "tests/sim/slot_job.hpp"

using namespace snagmap;

namespace {

/// A free wall of 4 mm beside the cutter at its travel along +x, from the tip's height up to `top_z_mm`.
WallSeen wall_up_to(double top_z_mm, double root_z_mm) {
  WallSeen wall;
  wall.normal = {0, 1};
  wall.w_mm = 4;
  wall.root_z_mm = root_z_mm;
  wall.top_z_mm = top_z_mm;
  wall.h_mm = top_z_mm - root_z_mm;
  wall.d1_mm = wall.d2_mm = 30;
  wall.contact = {0, std::min(wall.h_mm, 12.0)};
  return wall;
}

Sample sample_at(double z_mm) {
  Sample sample{};
  sample.tip_mm = {0, 0, z_mm};
  sample.heading = {1, 0};
  sample.pass_step_mm = 5;
  return sample;
}

Move feed_move() {
  Move move;
  move.kind = MoveKind::line;
  move.to = {50, 0, 0};
  move.feed_mm_min = 1000;
  move.spindle_rpm = 18000;
  return move;
}

} // namespace

TEST(Question, TheNecksReliefIsHalfOfWhatItIsThinner) {
  Scene scene = slot::scene();
  CutterCard& cutter = scene.cutters[0]; // 6 mm, flutes of 12 mm
  cutter.neck_diameter_mm = 5;
  const WallSeen tall = wall_up_to(0, -18), low = wall_up_to(-8, -18);
  EXPECT_NEAR(question_of(tall, sample_at(-18), feed_move(), cutter, scene).neck_relief_mm, 0.5, 1e-12);
  EXPECT_GT(question_of(low, sample_at(-18), feed_move(), cutter, scene).neck_relief_mm,
            1e3); // no neck there
  cutter.neck_diameter_mm = 0;
  cutter.shank_diameter_mm = 4;
  EXPECT_NEAR(question_of(tall, sample_at(-18), feed_move(), cutter, scene).neck_relief_mm, 1, 1e-12);
}

TEST(Question, TheFoamIsThatOfTheWebsMiddle) {
  Scene scene = slot::scene();
  scene.layers = {{*find_foam("pe-32"), 10}, {*find_foam("pu-22"), 10}}; // from the table up
  scene.layers[0].foam.bite_depth_mm.nominal = 0.2;
  scene.layers[1].foam.bite_depth_mm.nominal = 1.1;
  // The chord of a circle of radius R at depth b is 2 sqrt(2 R b - b^2). The root lies in the lower layer,
  // the middle in the upper one.
  const SnagQuestion q =
      question_of(wall_up_to(0, -12), sample_at(-12), feed_move(), scene.cutters[0], scene);
  EXPECT_NEAR(q.web.b_p_mm, 2 * std::sqrt(2 * 3 * 1.1 - 1.1 * 1.1), 1e-9);
}

TEST(Question, APostIsJudgedAboutItsThinnerSide) {
  const Scene scene = slot::scene();
  Path path;
  path.moves = {feed_move()};
  WallSeen post = wall_up_to(0, -12);
  post.post = true;
  post.w_mm = 8;
  post.d1_mm = post.d2_mm = 2; // 4 mm along the travel
  SnagQuestion question;
  SnagAnswer answer;
  judge_wall(post, sample_at(-12), path, scene, question, answer);
  // A cantilever gives way as 1/w^3: the way over 4 mm is the worse one.
  EXPECT_NEAR(question.web.w_mm, 4, 1e-12);
  EXPECT_NEAR(question.web.d1_mm + question.web.d2_mm, 8, 1e-12);
}

TEST(Spots, AreRankedWorstFirstAndNumberedAnew) {
  std::vector<Spot> spots(3);
  const double s[] = {0.5, 2, 1};
  for (int n = 0; n < 3; ++n)
    spots[static_cast<std::size_t>(n)].answer.s = s[n];
  rank_spots(spots);
  for (int n = 0; n < 3; ++n) {
    EXPECT_EQ(spots[static_cast<std::size_t>(n)].id, n + 1);
    EXPECT_EQ(spots[static_cast<std::size_t>(n)].answer.s,
              (std::vector<double>{2, 1, 0.5})[static_cast<std::size_t>(n)]);
  }
}

TEST(Spots, OfAWallAreOneForEachSideAndPassNumberedFromTheTop) {
  Scene scene = slot::scene();
  scene.voxel_mm = 1;
  scene.cutters[0].flutes = 3;
  const auto slot_at = [](int y, int z) {
    return "G0 X0 Y" + std::to_string(y) + "\nG1 Z-" + std::to_string(z) + " F800\nG1 X30 F2000\nG0 Z5\n";
  };
  const Preview found = slot::run(scene, slot_at(0, 5) + slot_at(10, 5) + slot_at(0, 10) + slot_at(10, 10));
  // The 4 mm between the slots stand from the second slot on: seen from it in two passes, from the first in
  // its second.
  int upper = 0, lower = 0, other_side = 0, web = 0;
  for (const Spot& spot : found.spots) {
    if (std::abs(spot.question.web.w_mm - 4) > 0.1)
      continue;
    EXPECT_TRUE(web == 0 || spot.web == web);
    web = spot.web;
    if (spot.tip_mm.y < 5)
      ++other_side;
    else
      ++(spot.tip_mm.z > -7 ? upper : lower);
    EXPECT_EQ(spot.pass, spot.tip_mm.z < -7 ? 2 : 1);
    // Chip a tooth = feed / (speed * teeth), any machinist's handbook.
    EXPECT_NEAR(spot.chip_mm, spot.feed_mm_min / (18000.0 * 3), 1e-6);
  }
  EXPECT_EQ(upper, 1);
  EXPECT_EQ(lower, 1);
  EXPECT_EQ(other_side, 1);
}
