// One motion has one set of webs and one S for each, however it is written.
#include "tests/sim/moment_jobs.hpp"
#include "tests/sim/slot_job.hpp"

#include <fmt/format.h>

using namespace snagmap;

namespace {

/// A web `w_mm` thick between a slot cut before and `motion` on its other side, with elements for the worst
/// spot.
Preview beside_a_slot(double w_mm, const std::string& motion) {
  Scene scene = slot::scene();
  scene.voxel_mm = 1;
  scene.program_file = "slot.nc";
  scene.program_text =
      fmt::format("G21 G90 G61.1 T1 M6\nS18000 M3 G0 X0 Y0 Z5\nG1 Z-8 F800\nG1 X60 F2000\nG0 Z5\n"
                  "G0 X30 Y{}\n{}G0 Z5\nM30\n",
                  6 + w_mm, motion);
  PreviewOptions options;
  options.verify = SolveChoice::worst(1);
  Outcome<Preview> found = preview(scene, options);
  if (!found) {
    ADD_FAILURE() << to_text(found.faults().front());
    return {};
  }
  return std::move(*found);
}

std::string slot_in(int pieces) {
  std::string lines = "G0 X0\nG1 Z-8 F800\nF2000\n";
  for (int n = 1; n <= pieces; ++n)
    lines += fmt::format("G1 X{:.6f}\n", 60.0 * n / pieces);
  return lines;
}

} // namespace

TEST(SameMotion, HasTheSameWebsAndSInAnyPiecesChordsTurnsMirrorsShiftsAndOrder) {
  for (const std::uint64_t seed : {1, 2, 3, 9, 10}) {
    const same_motion::Job job = same_motion::random_job(seed);
    const std::vector<double> once = same_motion::webs_of(job, {});
    ASSERT_FALSE(once.empty());
    for (const same_motion::Writing& how : same_motion::ways()) {
      const std::vector<double> again = same_motion::webs_of(job, how);
      ASSERT_EQ(again.size(), once.size()) << "job " << seed << ", " << how.name;
      for (std::size_t n = 0; n < once.size(); ++n)
        EXPECT_NEAR(again[n] / once[n], 1, 0.01) << "job " << seed << ", " << how.name << ", web " << n;
    }
  }
}

// The foam ahead of the cutter holds the web, whether or not the program's line goes on to its end.
TEST(SameMotion, AOnePassSlotIsJudgedAlikeInOneMoveAndInEighty) {
  const Preview one = beside_a_slot(4, slot_in(1)), many = beside_a_slot(4, slot_in(80));
  ASSERT_FALSE(one.spots.empty() || many.spots.empty());
  ASSERT_TRUE(one.spots[0].fe->verified && many.spots[0].fe->verified);
  EXPECT_EQ(one.webs.size(), many.webs.size());
  EXPECT_NEAR(one.spots[0].by_formula().s / many.spots[0].by_formula().s, 1, 0.001);
  EXPECT_NEAR(one.spots[0].fe->answer.s / many.spots[0].fe->answer.s, 1, 0.001);
}

// A plunge leaves foam on three sides of the web it makes; the slot that then runs along the wall leaves it
// on two.
TEST(SameMotion, APlungeBesideAWallIsJudgedWithTheFoamRoundIt) {
  const Preview plunge = beside_a_slot(4, "G1 Z-8 F800\n"), slot = beside_a_slot(4, slot_in(1));
  ASSERT_FALSE(plunge.spots.empty() || slot.spots.empty());
  EXPECT_LT(plunge.spots[0].fe->answer.s, slot.spots[0].fe->answer.s);
  EXPECT_LT(plunge.spots[0].by_formula().s, slot.spots[0].by_formula().s);
  EXPECT_LT(plunge.spots[0].s(), 1);
}
