// The timeline and the one call that runs every check, on a small job with one of each trouble.
#include "sim/checks/job_checks.hpp"
#include "sim/preview/stops_program.hpp"
#include "sim/probe/volumes.hpp"
#include "tests/sim/record_fixture.hpp"

#include <algorithm>
#include <cmath>
#include <memory>
#include <numeric>
#include <regex>

namespace snagmap {
namespace {

using testing::cut;
using testing::flat_cutter;
using testing::line;
using testing::path_of;

/// A 60 mm slot, then a pin of 6 x 6 mm cut round to the table.
Preview small_job() {
  Preview preview;
  Scene& scene = preview.scene;
  scene.sheet = {{0, 0, -20}, {120, 120, 0}};
  scene.layers = {{*find_foam("pu-22"), 20}};
  scene.cutters = {flat_cutter(6, 30)};
  scene.cutters[0].name = "cutter";
  scene.cutters[0].stick_out_mm = 40;
  scene.cutters[0].helix_deg = 30;
  scene.machine.feed_mm_min = scene.machine.rapid_mm_min = {8000, 8000, 2000};
  scene.machine.acceleration_mm_s2 = {500, 500, 300};
  scene.hold_down.kind = HoldDownKind::tape;
  scene.hold_down.tension_kPa = {30, 15, 60, "a guess", true};
  scene.hold_down.shear_kPa = {20, 10, 40, "a guess", true};
  scene.hold_down.peel_N_mm = {0.1, 0.05, 0.2, "a guess", true};
  scene.start_mm = {20, 100, 5};
  scene.collet = {true, "ER20", 8, 7, 0, 0}; // the 6 mm shank is too small for it
  std::vector<Move> moves{line({20, 100, 5}, {20, 100, -10}), line({20, 100, -10}, {80, 100, -10}),
                          line({80, 100, -10}, {80, 100, 5}),
                          line({80, 100, 5}, {44, 44, 5}, MoveKind::rapid)};
  for (const double z : {-10.0, -20.0}) {
    moves.push_back(line({44, 44, moves.back().to.z}, {44, 44, z}));
    moves.push_back(line({44, 44, z}, {56, 44, z}));
    moves.push_back(line({56, 44, z}, {56, 56, z}));
    moves.push_back(line({56, 56, z}, {44, 56, z}));
    moves.push_back(line({44, 56, z}, {44, 44, z}));
  }
  moves.push_back(line({44, 44, -20}, {50, 44, -20}));
  moves.push_back(line({50, 44, -20}, {50, 44, 5}));
  for (Move& move : moves) {
    move.spindle_rpm = 18000;
    if (move.kind == MoveKind::line)
      move.feed_mm_min = 3000;
  }
  preview.path = path_of(std::move(moves));
  preview.motion = plan_motion(preview.path, scene.machine);
  preview.record = std::make_shared<RemovalRecord>(cut(scene.sheet, scene.cutters, preview.path, 0.5));
  Spot spot;
  spot.answer.s = 0.8;
  spot.answer.s_high = 1.2;
  spot.program_line = 2;
  spot.move = 1;
  spot.time_s = preview.motion.start_s[1];
  spot.place_mm = {50, 97, -10};
  spot.tip_mm = {50, 100, -10};
  spot.a_mm = 10;
  preview.spots = {spot};
  Finding rub;
  rub.what = fact::ShankRubs{1.5, 7, 7};
  rub.program_line = 7;
  rub.time_s = preview.motion.start_s[6];
  rub.place_mm = preview.path.moves[6].from;
  preview.findings = {rub};
  return preview;
}

TEST(RiskTimeline, PutsEveryKindOfRiskInOrderOfTime) {
  const JobChecks job = check_job(small_job(), small_job().findings);
  const std::vector<RiskEvent>& events = job.timeline.events;
  EXPECT_TRUE(std::is_sorted(events.begin(), events.end(),
                             [](const auto& a, const auto& b) { return a.time_s < b.time_s; }));
  const auto find = [&](RiskKind kind) {
    return std::find_if(events.begin(), events.end(), [&](const RiskEvent& e) { return e.kind() == kind; });
  };
  ASSERT_NE(find(RiskKind::spot), events.end());
  EXPECT_EQ(find(RiskKind::spot)->line, 2);
  ASSERT_NE(find(RiskKind::strand), events.end());
  EXPECT_EQ(find(RiskKind::strand)->line, 2);
  ASSERT_NE(find(RiskKind::loose_piece), events.end());
  EXPECT_EQ(find(RiskKind::loose_piece)->line, 14); // the move that closes the deep ring
  ASSERT_NE(find(RiskKind::rubbing), events.end());
}

/// Every event that a stop sees to has its stop in time, or may wait for the end.
void expect_all_seen(const Preview& preview, const RiskTimeline& timeline) {
  std::vector<int> seen(timeline.events.size(), 0);
  for (const std::size_t n : timeline.at_end)
    ++seen[n];
  for (const RiskStop& stop : timeline.stops)
    for (const std::size_t n : stop.events) {
      ++seen[n];
      const RiskEvent& event = timeline.events[n];
      ASSERT_TRUE(event.see_to);
      if (event.kind() != RiskKind::strand) {
        EXPECT_GE(stop.time_s, event.see_to->from_s - 1e-9) << event.line;
        EXPECT_LE(stop.time_s, event.see_to->by_s + 1e-9) << event.line;
      }
    }
  for (std::size_t n = 0; n < seen.size(); ++n)
    EXPECT_EQ(seen[n] > 0, timeline.events[n].see_to.has_value()) << timeline.events[n].line;
  for (const RiskStop& stop : timeline.stops) { // lifted only where the cutter is in the sheet
    EXPECT_EQ(stop.tip_mm.z <= preview.scene.sheet.high.z, stop.lifted || stop.given);
    EXPECT_FALSE(stop.events.empty());
  }
}

TEST(RiskTimeline, AllThatMayWaitAsLongAsTheJobLastsNeedsNoStop) {
  Preview preview = small_job();
  const JobChecks job = check_job(preview, preview.findings);
  ASSERT_LT(preview.motion.total_s(), preview.scene.stops.within_s);
  EXPECT_EQ(job.timeline.added(), 0u);
  EXPECT_FALSE(job.timeline.at_end.empty());
  expect_all_seen(preview, job.timeline);
}

TEST(RiskTimeline, AShortPatienceStopsOverTheSheetAndNoneAtAllLiftsOutOfTheCut) {
  Preview preview = small_job();
  preview.scene.stops.strand_mm = 100; // 50 in the slot of 60
  preview.scene.stops.within_s = 3;
  const JobChecks job = check_job(preview, preview.findings);
  ASSERT_GE(job.timeline.added(), 1u);
  expect_all_seen(preview, job.timeline);
  const RiskStop& stop = job.timeline.stops.front();
  EXPECT_FALSE(stop.lifted);
  EXPECT_EQ(stop.line, 4); // the slot ends with line 3, which retracts
  EXPECT_EQ(stop.tip_mm.z, 5);

  preview.scene.stops.within_s = 0;
  const JobChecks now = check_job(preview, preview.findings);
  expect_all_seen(preview, now.timeline);
  const RiskStop& at_once = now.timeline.stops.front();
  EXPECT_TRUE(at_once.lifted);
  // 10 mm of plunge and 40 of slot from X20, the beginning known to a voxel.
  EXPECT_NEAR(at_once.tip_mm.x, 60, 0.5);
}

TEST(RiskTimeline, TheWrittenStopsBreakTheStrandsAndLeaveTheCutAsItWas) {
  Preview preview = small_job();
  preview.scene.stops.strand_mm = 40;
  preview.scene.stops.within_s = 0;
  const JobChecks job = check_job(preview, preview.findings);
  auto checks = std::make_shared<JobChecks>(job);
  preview.checks = checks;
  ASSERT_GT(job.timeline.added(), 1u);
  Preview stopped = preview;
  stopped.path = path_with_stops(preview);
  std::size_t stops = 0;
  for (std::size_t i = 0; i < stopped.path.moves.size(); ++i) {
    const Move& move = stopped.path.moves[i];
    if (i > 0) {
      EXPECT_LT(norm(move.from - stopped.path.moves[i - 1].to), 1e-9) << i;
    }
    if (move.kind != MoveKind::stop)
      continue;
    ++stops;
    EXPECT_EQ(move.spindle_rpm, 0); // M5
    EXPECT_GE(move.to.z, 5);        // lifted clear
    EXPECT_EQ(stopped.path.moves[i + 1].spindle_rpm, 18000);
  }
  EXPECT_EQ(stops, job.timeline.added());
  stopped.motion = plan_motion(stopped.path, preview.scene.machine);
  stopped.record =
      std::make_shared<RemovalRecord>(cut(stopped.scene.sheet, stopped.scene.cutters, stopped.path, 0.5));
  const auto removed = [](const Preview& p) {
    const std::vector<double>& moves = removed_mm3(*p.record);
    return std::accumulate(moves.begin(), moves.end(), 0.0);
  };
  EXPECT_NEAR(removed(stopped), removed(preview), 1e-6 * removed(preview));
  const JobChecks after = check_job(stopped, {});
  // The lifts end the runs; each is as long as the limit, known to a voxel.
  for (const StrandRun& run : after.strands.runs)
    EXPECT_LE(run.length_mm, (run.slot ? 20 : 40) + 0.5 + 1e-6) << run.from_line;
}

TEST(RiskTimeline, ProgramsWithStopsTellTheirHeadAndStopTheSpindleFirst) {
  Preview preview = small_job();
  preview.scene.stops.strand_mm = 100;
  preview.scene.stops.within_s = 3;
  preview.checks = std::make_shared<JobChecks>(check_job(preview, preview.findings));
  const Outcome<WrittenProgram> written = program_with_stops(preview, {"look for strands"});
  ASSERT_TRUE(written) << to_text(written.faults().front());
  for (const char* words : {"(look for strands)", "M5\nM0\n", "S18000 M3"})
    EXPECT_NE(written->text.find(words), std::string::npos) << words << "\n" << written->text;
}

TEST(RiskTimeline, ARefusedColletLeadsTheFindingsOfTheWholeJob) {
  const JobChecks job = check_job(small_job(), small_job().findings);
  ASSERT_FALSE(job.findings.empty());
  EXPECT_EQ(job.findings.front().kind(), FindingKind::collet_refused);
  EXPECT_TRUE(job.findings.front().stops_job);
}

TEST(RiskTimeline, TheCutterIsTimedBesideThePieceItFreed) {
  const JobChecks job = check_job(small_job(), small_job().findings);
  ASSERT_EQ(job.loose.pieces.size(), 1u);
  const LoosePiece& pin = job.loose.pieces[0];
  EXPECT_EQ(pin.line, 14);
  // After the ring closes at (44, 44) the tip goes to (50, 44) and up. The pin's corner is at (47, 47): the
  // flutes, r 3, come within the 1 mm of reach where 3^2 + (47 - x)^2 = 4^2. The last 5 mm of the way up are
  // above the pin.
  const Preview preview = small_job();
  const Motion& motion = preview.motion;
  const double from = motion_at(preview.path, motion, 14, (3 - std::sqrt(7.0)) / 6).time_s;
  const double to = motion_at(preview.path, motion, 15, 20.0 / 25).time_s;
  // Read in steps of 1 mm: at each end of the stretch no more than the time of one step at its place.
  const double step = motion_at(preview.path, motion, 14, 1.0 / 6).time_s - motion.start_s[14] + 0.03;
  EXPECT_NEAR(pin.beside_s, to - from, step);
  EXPECT_GT(pin.last_beside_s, pin.time_s);
}

TEST(RiskTimeline, BadInputLeavesTheRestOfTheChecksIntact) {
  Preview preview = small_job();
  preview.scene.hold_down = {};
  preview.scene.collet = {true, "ER12", 6, 0, 0, 0};
  preview.scene.thickness_spread_mm = 50;
  const JobChecks job = check_job(preview, preview.findings);
  const auto has = [&](FindingKind kind) {
    return std::any_of(job.findings.begin(), job.findings.end(),
                       [&](const Finding& f) { return f.kind() == kind; });
  };
  EXPECT_TRUE(has(FindingKind::hold_down_not_given));
  EXPECT_TRUE(has(FindingKind::collet_unknown));
  EXPECT_TRUE(has(FindingKind::thickness_not_run));
  EXPECT_TRUE(has(FindingKind::loose_piece));
  EXPECT_TRUE(has(FindingKind::strand));
}

} // namespace
} // namespace snagmap
