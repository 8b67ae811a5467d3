// Time, feeds, chips and foam of a whole job, against uniformly accelerated motion and volumes by hand.
#include "sim/hold/cut_trace.hpp"
#include "tests/sim/slot_job.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numeric>

using namespace snagmap;

namespace {

constexpr double kVoxel_mm = 0.5;

const double kPi = std::acos(-1.0);
const RunNumbers& numbers(const Preview& job) {
  return job.checks->run;
}
/// One slot of 100 mm at one feed.
std::string slot_at(const std::string& feed) {
  return "G1 Z-10 F1000\nG1 X100 " + feed + "\nG0 Z5";
}

} // namespace

TEST(RunNumbers, TimesOfTheJobAddUp) {
  const Preview job = slot::run(slot::scene(), slot_at("F4000") + "\nG4 P2");
  const TimeSplit time = numbers(job).time;
  EXPECT_NEAR(time.changes_s, 90, 1e-9);
  EXPECT_NEAR(time.waiting_s, 3 + 2, 1e-9);
  EXPECT_NEAR(time.total_s(), job.motion.total_s(), 1e-9);
  // 15 mm down at 1000 mm/min and 100 mm at 4000.
  EXPECT_NEAR(numbers(job).feeds.by_words_s, 15 / (1000 / 60.0) + 100 / (4000 / 60.0), 1e-6);
  EXPECT_NEAR(numbers(job).feeds.real_s, time.cutting_s, 1e-9);
  EXPECT_NEAR(numbers(job).feeds.length_mm, 115, 1e-9);
}

// Slots of 100 x 6 x 10 mm with round ends, by hand.
TEST(RunNumbers, ACutterThatStandsInFoamStopsTheJobUnlessTheSwitchIsByHand) {
  const double slot_mm3 = 10 * (100 * 6 + kPi * 9);
  const std::string two = slot_at("F4000") + "\nM5\nG0 Y20\nG1 Z-10 F1000\nG1 X0 F4000\nG0 Z5";
  const Preview stopped = slot::run(slot::scene(), two);
  const Finding* found = slot::finding(stopped, FindingKind::spindle_stands);
  ASSERT_NE(found, nullptr);
  EXPECT_TRUE(found->stops_job);
  const auto& stands = std::get<fact::SpindleStands>(found->what);
  EXPECT_FALSE(stands.never_started);
  EXPECT_NEAR(stands.foam_mm3, slot_mm3, 0.005 * slot_mm3); // volumes are right to 0.5 %
  Scene by_hand = slot::scene();
  by_hand.program_file = "slot.nc";
  by_hand.program_text = "G21 G90\nG0 X0 Y0 Z5\n" + slot_at("F4000") + "\nM30\n";
  PreviewOptions options;
  options.verify = SolveChoice::none();
  const Outcome<Preview> switched = preview(by_hand, options);
  ASSERT_TRUE(switched);
  found = slot::finding(*switched, FindingKind::spindle_stands);
  ASSERT_NE(found, nullptr);
  EXPECT_FALSE(found->stops_job);
  EXPECT_EQ(found->program_line, 3);
  EXPECT_EQ(slot::finding(slot::run(slot::scene(), slot_at("F4000")), FindingKind::spindle_stands), nullptr);
  // M5 and a move in the air: nothing to tell.
  EXPECT_EQ(slot::finding(slot::run(slot::scene(), slot_at("F4000") + "\nM5\nG1 X0 F4000"),
                          FindingKind::spindle_stands),
            nullptr);
}

// 60 mm/s are 0.1 mm a tooth at 18000 rev/min and two teeth; at 100 mm/s2 they take 0.6 s over 18 mm at
// either end.
TEST(RunNumbers, ThinChipsAreThoseOfTheSlowEnds) {
  Scene scene = slot::scene();
  scene.machine.acceleration_mm_s2 = {100, 100, 100};
  scene.cutters[0].least_chip_mm = 0.1;
  const Preview job = slot::run(scene, slot_at("F4800"));
  ASSERT_EQ(numbers(job).thin.size(), 1u);
  const ThinChips& thin = numbers(job).thin[0];
  // The first foam is met within a voxel (0.5 mm) of the start, which takes 0.1 s from rest.
  EXPECT_NEAR(thin.in_foam_mm, 100, 0.5);
  EXPECT_NEAR(thin.thin_mm, 36, 0.5);
  EXPECT_NEAR(thin.thin_s, 1.2, 0.1);
  ASSERT_EQ(thin.longest.size(), 2u);
  EXPECT_EQ(thin.longest[0].from_line, 4);
  const Finding* found = slot::finding(job, FindingKind::thin_chips);
  ASSERT_NE(found, nullptr);
  EXPECT_EQ(found->program_line, 4);
  EXPECT_FALSE(found->stops_job);
}

TEST(RunNumbers, ShortSlowEndsAndPlungesAreNoWarning) {
  Scene scene = slot::scene();
  scene.machine.acceleration_mm_s2 = {5000, 5000, 5000};
  scene.cutters[0].least_chip_mm = 0.1; // 0.36 mm at either end; the plunge runs at 0.028 mm a tooth
  const Preview job = slot::run(scene, slot_at("F4800"));
  EXPECT_EQ(slot::finding(job, FindingKind::thin_chips), nullptr);
  EXPECT_LT(numbers(job).thin.at(0).thin_mm, 0.8);
}

TEST(RunNumbers, FeedOverTheAxesIsToldOnceWithItsShare) {
  // X allows 8000, Y 5000: 40 mm of 7000 along Y in two places.
  const std::string lines = "G1 Z-10 F1000\nG1 X60 F7000\nY20\nX20\nY0\nG0 Z5";
  const Preview job = slot::run(slot::scene(), lines);
  const FeedWish& feeds = numbers(job).feeds;
  EXPECT_EQ(feeds.over_places, 2u);
  EXPECT_NEAR(feeds.over_mm, 40, 1e-9);
  const Finding* found = slot::finding(job, FindingKind::feed_over_axes);
  ASSERT_NE(found, nullptr);
  EXPECT_EQ(found->program_line, 5);
  const auto& said = std::get<fact::FeedOverAxes>(found->what);
  EXPECT_EQ(said.programmed_mm_min, 7000);
  EXPECT_EQ(said.allowed_mm_min, 5000);
  EXPECT_NEAR(said.over_mm, 40, 1e-9);
  EXPECT_EQ(said.places, 2u);
  EXPECT_NEAR(said.share, 40 / 155.0, 1e-9); // 15 of plunge, 60 + 20 + 40 + 20 in the plane
  EXPECT_EQ(slot::finding(slot::run(slot::scene(), "G1 Z-10 F1000\nG1 X60 F5000\nY20\nG0 Z5"),
                          FindingKind::feed_over_axes),
            nullptr);
}

TEST(RunNumbers, FeedThatIsNotReachedIsTold) {
  std::string raster = "G1 Z-10 F2000\nF7000";
  for (int i = 1; i <= 20; ++i)
    raster += "\nX" + std::to_string(3 * i) + "\nY" + std::to_string(i % 2 ? 10 : 0);
  const Preview job = slot::run(slot::scene(), raster + "\nG0 Z5");
  const Finding* found = slot::finding(job, FindingKind::feed_not_reached);
  ASSERT_NE(found, nullptr);
  EXPECT_GT(numbers(job).feeds.real_s, numbers(job).feeds.by_words_s);
  // 100 mm at 2000 mm/min: 30 mm/s, reached after 0.9 mm (v^2 / 2a), nine tenths of it after 0.73 mm.
  const Preview calm = slot::run(slot::scene(), slot_at("F2000"));
  EXPECT_EQ(slot::finding(calm, FindingKind::feed_not_reached), nullptr);
  const double v = 0.9 * 2000 / 60, down = 0.9 * 1000 / 60;
  EXPECT_NEAR(numbers(calm).feeds.slow_mm, 2 * (v * v + down * down) / (2 * 500), 0.1);
}

TEST(RunNumbers, SpindleSpeedOutsideTheMachinesRangeIsTold) {
  const Preview fast = slot::run(slot::scene(), "S30000\n" + slot_at("F4000"));
  const Finding* found = slot::finding(fast, FindingKind::spindle_range);
  ASSERT_NE(found, nullptr);
  EXPECT_EQ(found->program_line, 4);
  EXPECT_EQ(slot::finding(slot::run(slot::scene(), slot_at("F4000")), FindingKind::spindle_range), nullptr);
}

// Removal rate of the textbook, ae ap vf, against the foam that the record loses over the time that the
// motion takes, at 6 mm, two flutes, ap 20 mm, 7000 mm/min, on the part of the path where the feed is
// constant.
TEST(RunNumbers, FoamRemovedInAMinuteIsWidthTimesDepthTimesFeed) {
  constexpr double kDepth_mm = 20, kFeed_mm_min = 7000;
  const struct {
    const char* start;
    double width_mm, cm3_min;
  } cuts[] = {{"G0 X-30 Y0", 6, 840}, {"G0 X-30 Y31.5", 1.5, 210}}; // a slot; along the sheet's edge at Y30
  for (const auto& one : cuts) {
    Scene scene = slot::scene();
    scene.voxel_mm = kVoxel_mm;
    scene.sheet.low.z = -30, scene.layers[0].thickness_mm = 30;
    scene.layers[0].foam.density_kg_m3 = 33;
    scene.cutters[0].flute_length_mm = 22;
    const Preview job = slot::run(scene, std::string(one.start) + "\nG1 Z-20 F1000\nG1 X130 F7000\nG0 Z5");
    const CutTrace trace = trace_cuts(*job.record, job.path, 2);
    // The cut is in the sheet from X-20 to X120, and at its feed after v^2 / 2a = 13.6 mm: look from X-10 to
    // X100.
    const auto move = std::find_if(job.path.moves.begin(), job.path.moves.end(),
                                   [](const Move& m) { return m.to.x == 130; });
    const double x0_mm = trace.move_mm[static_cast<std::size_t>(move - job.path.moves.begin())] + 30;
    const auto step_from = [&](double x_mm) {
      return std::find_if(trace.steps.begin(), trace.steps.end(),
                          [&](const CutStep& s) { return s.from_mm >= x0_mm + x_mm; });
    };
    const auto first = step_from(-10), last = step_from(100);
    ASSERT_TRUE(last != trace.steps.end());
    const auto time_s = [&](const CutStep& s) {
      return motion_at(job.path, job.motion, s.move, s.from_s).time_s;
    };
    const double removed_mm3 =
        std::accumulate(first, last, 0.0, [](double sum, const CutStep& s) { return sum + s.volume_mm3; });
    const double rate = 1e-3 * removed_mm3 / ((time_s(*last) - time_s(*first)) / 60);
    EXPECT_DOUBLE_EQ(one.width_mm * kDepth_mm * kFeed_mm_min / 1000, one.cm3_min);
    // Width and depth are whole numbers of columns; along the path each row may be one column short or over.
    EXPECT_NEAR(rate / one.cm3_min, 1, kVoxel_mm / (last->from_mm - first->from_mm));
    if (one.width_mm < 6)
      continue;
    // 28 g a minute in the slot: what winds up with a run is weighed by the same density.
    ASSERT_EQ(job.checks->strands.runs.size(), 1u);
    const StrandRun& run = job.checks->strands.runs[0];
    EXPECT_NEAR(rate * run.mass_g / (1e-3 * run.volume_mm3), 28, 0.5);
  }
}

// The minute that the preview reports: the same slot so slow that it lasts longer, 100 mm/min.
TEST(RunNumbers, TheBusiestMinuteOfALongSlotIsItsRemovalRate) {
  Scene scene = slot::scene();
  scene.voxel_mm = kVoxel_mm;
  const Preview job = slot::run(scene, "G0 X-30\nG1 Z-10 F1000\nG1 X130 F100\nG0 Z5");
  // A minute is summed in whole steps of 2 mm of path, and the widest of the five lines laid over 8 mm of way
  // stands for 0.2844 of them.
  EXPECT_NEAR(numbers(job).foam.busiest_minute_mm3 / (6 * 10 * 100), 1, (2.0 + 8 * 0.2844) / 100);
}

TEST(RunNumbers, FoamRemovedIsTheVolumeOfTheSlots) {
  Scene scene = slot::scene();
  scene.cutters[0].neck_diameter_mm = 4, scene.cutters[0].neck_length_mm = 25;
  // A slot of 100 mm, two minutes of rest, a slot of 50 mm: the busiest minute is the first.
  const Preview job =
      slot::run(scene, slot_at("F4000") + "\nG4 P120\nG0 X0 Y15\nG1 Z-10 F1000\nX50 F4000\nG0 Z5");
  const FoamRemoved& foam = numbers(job).foam;
  const auto slot = [](double length) { return 10 * (6 * length + kPi * 9); };
  // A column (0.5 mm wide) is in or out as a whole: half a column round the outline, 2 (100 + 50) + 12 pi
  // long.
  const double edge = 0.25 * 10 * (2 * 150 + 12 * kPi);
  EXPECT_NEAR(foam.total_mm3, slot(100) + slot(50), edge);
  EXPECT_NEAR(foam.busiest_minute_mm3, slot(100), edge);
  EXPECT_EQ(foam.busiest_line, 3);
  EXPECT_NEAR(foam.largest_run_mm3, slot(100), edge);
  EXPECT_NEAR(foam.neck_room_mm3, kPi / 4 * (36 - 16) * 25, 1e-9);
}
