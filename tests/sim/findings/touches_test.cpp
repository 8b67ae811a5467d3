// What else stops a job: each finding is provoked by one change of a clean job, and its harmless twin is not
// told.
#include "tests/sim/slot_job.hpp"

#include <gtest/gtest.h>

using namespace snagmap;

namespace {

constexpr FindingKind kKinds[] = {FindingKind::rapid_in_foam, FindingKind::cut_into_table,
                                  FindingKind::neck_rubs,     FindingKind::shank_rubs,
                                  FindingKind::nut_in_foam,   FindingKind::holder_in_foam};

/// The kind is found at this program line, within the time of that line's moves.
void expect_found(const Preview& job, FindingKind kind, int line, bool stops) {
  const Finding* found = slot::finding(job, kind);
  ASSERT_NE(found, nullptr) << to_text(kind);
  EXPECT_EQ(found->program_line, line) << to_text(kind);
  EXPECT_EQ(found->stops_job, stops) << to_text(kind);
  double begin = 1e9, end = 0;
  for (std::size_t i = 0; i < job.path.moves.size(); ++i)
    if (job.path.moves[i].line == line) {
      begin = std::min(begin, job.motion.start_s[i]);
      end = std::max(end, job.motion.start_s[i + 1]);
    }
  EXPECT_GE(found->time_s, begin) << to_text(kind);
  EXPECT_LE(found->time_s, end) << to_text(kind);
}
void expect_none(const Preview& job, FindingKind kind) {
  const Finding* found = slot::finding(job, kind);
  EXPECT_EQ(found, nullptr) << to_text(kind);
}

/// Flutes of 12 mm: a pass of 10 mm and then one to 18 leave no foam above the flutes.
const char* const kTwoPasses = "G1 Z-10 F1000\nG1 X100 F4000\nG0 Z5\nX0\nG1 Z-18 F1000\nG1 X100 F4000\nG0 Z5";
const char* const kOneDeepPass = "G1 Z-18 F1000\nG1 X100 F4000\nG0 Z5";

} // namespace

TEST(Findings, CleanJobHasNone) {
  const Preview job = slot::run(slot::scene(), kTwoPasses);
  for (const FindingKind kind : kKinds)
    expect_none(job, kind);
}

TEST(Findings, RapidThroughFoam) {
  const Preview job = slot::run(slot::scene(), "G1 Z-8 F1000\nG0 X100\nG0 Z5");
  expect_found(job, FindingKind::rapid_in_foam, 4, true);
  // Back through its own slot there is none left to meet.
  expect_none(slot::run(slot::scene(), "G1 Z-8 F1000\nG1 X100 F4000\nG0 X0\nG0 Z5"),
              FindingKind::rapid_in_foam);
}

TEST(Findings, TouchesNearInTheProgramAreOneAtTheDeepestAndFarOnesTwo) {
  const std::string shallow = "G1 Z-2 F1000\nG0 X50\nG0 Z5\nX0 Y15\n", deep = "G1 Z-8 F1000\nG0 X50\nG0 Z5";
  const auto found = [&](int moves_between) {
    std::string in_air;
    for (int n = 0; n < moves_between; ++n)
      in_air += n % 2 ? "X0\n" : "X1\n";
    const Preview job = slot::run(slot::scene(), shallow + in_air + deep);
    std::vector<Finding> rapids;
    for (const Finding& one : job.findings)
      if (one.kind() == FindingKind::rapid_in_foam)
        rapids.push_back(one);
    return rapids;
  };
  const std::vector<Finding> near = found(10), far = found(60);
  ASSERT_EQ(near.size(), 1u);
  EXPECT_EQ(near[0].program_line, 4);
  ASSERT_TRUE(near[0].place_mm);
  EXPECT_NEAR(near[0].place_mm->y, 15, 3.01); // the deep one, within the cutter's radius
  ASSERT_EQ(far.size(), 2u);
  EXPECT_EQ(far[0].program_line, 4);
}

TEST(Findings, CutIntoTheTable) {
  expect_found(slot::run(slot::scene(), "G1 Z-10 F1000\nX100 F4000\nZ-20.5\nG0 Z5"),
               FindingKind::cut_into_table, 5, true);
  expect_none(slot::run(slot::scene(), "G1 Z-10 F1000\nX100 F4000\nZ-20\nG0 Z5"),
              FindingKind::cut_into_table);
}

TEST(Findings, NeckRubsWhereThePassIsDeeperThanTheFlutes) {
  Scene scene = slot::scene();
  scene.cutters[0].neck_diameter_mm = 5, scene.cutters[0].neck_length_mm = 20;
  expect_found(slot::run(scene, kOneDeepPass), FindingKind::neck_rubs, 4,
               false); // sideways: the hole of the plunge is wider
  expect_none(slot::run(scene, kTwoPasses), FindingKind::neck_rubs);
}

TEST(Findings, ANeckThatMeetsFoamInARapidStopsTheJob) {
  // One pass deeper than the flutes leaves foam above them: on the way back only the neck meets it.
  Scene scene = slot::scene();
  scene.cutters[0].neck_diameter_mm = 5, scene.cutters[0].neck_length_mm = 20;
  expect_found(slot::run(scene, "G1 Z-18 F1000\nG1 X100 F4000\nG0 X0\nG0 Z5"), FindingKind::rapid_in_foam, 5,
               true);
}

TEST(Findings, ShankThickerThanTheSlotRubs) {
  Scene scene = slot::scene();
  expect_none(slot::run(scene, kTwoPasses), FindingKind::shank_rubs); // as thick as the flutes: it fits
  scene.cutters[0].shank_diameter_mm = 8;
  expect_found(slot::run(scene, kTwoPasses), FindingKind::shank_rubs, 7, false);
}

TEST(Findings, NutAndHolderInFoam) {
  Scene scene = slot::scene();
  scene.cutters[0].stick_out_mm = 15; // 3 mm below the top at Z-18
  expect_found(slot::run(scene, kTwoPasses), FindingKind::nut_in_foam, 7, true);
  scene.cutters[0].nut_length_mm = 1;
  const Preview job = slot::run(scene, kTwoPasses);
  expect_found(job, FindingKind::nut_in_foam, 7, true);
  expect_found(job, FindingKind::holder_in_foam, 7, true);
  scene.cutters[0].stick_out_mm = 18.5; // clear by half a millimetre
  const Preview clear = slot::run(scene, kTwoPasses);
  expect_none(clear, FindingKind::nut_in_foam);
  expect_none(clear, FindingKind::holder_in_foam);
}
