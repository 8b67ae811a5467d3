// The timeline and the one call that runs every check, on a small job with one of each trouble.
#include "sim/checks/job_checks.hpp"
#include "tests/sim/record_fixture.hpp"

#include <algorithm>
#include <cmath>
#include <memory>

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
  rub.kind = "shank-rubs";
  rub.program_line = 7;
  rub.time_s = preview.motion.start_s[6];
  rub.place_mm = preview.path.moves[6].from;
  preview.findings = {rub};
  return preview;
}

TEST(RiskTimeline, PutsEveryKindOfRiskInOrderOfTimeWithAStopBeforeItsLine) {
  const JobChecks job = check_job(small_job());
  const std::vector<RiskEvent>& events = job.timeline.events;
  EXPECT_TRUE(std::is_sorted(events.begin(), events.end(),
                             [](const auto& a, const auto& b) { return a.time_s < b.time_s; }));
  const auto find = [&](RiskKind kind) {
    return std::find_if(events.begin(), events.end(), [&](const RiskEvent& e) { return e.kind == kind; });
  };
  ASSERT_NE(find(RiskKind::spot), events.end());
  EXPECT_EQ(find(RiskKind::spot)->line, 2);
  ASSERT_NE(find(RiskKind::strand), events.end());
  EXPECT_EQ(find(RiskKind::strand)->line, 2);
  ASSERT_NE(find(RiskKind::loose_piece), events.end());
  EXPECT_EQ(find(RiskKind::loose_piece)->line, 14); // the move that closes the deep ring
  ASSERT_NE(find(RiskKind::rubbing), events.end());
  // Every event with a line has its stop, and no line has two.
  std::vector<std::int32_t> lines;
  std::size_t covered = 0;
  for (const RiskStop& stop : job.timeline.stops) {
    lines.push_back(stop.line);
    covered += stop.events.size();
    for (const std::size_t n : stop.events)
      EXPECT_EQ(events[n].line, stop.line);
  }
  EXPECT_EQ(covered, events.size());
  std::sort(lines.begin(), lines.end());
  EXPECT_EQ(std::unique(lines.begin(), lines.end()), lines.end());
}

TEST(RiskTimeline, ARefusedColletLeadsTheFindingsOfTheWholeJob) {
  const JobChecks job = check_job(small_job());
  ASSERT_FALSE(job.findings.empty());
  EXPECT_EQ(job.findings.front().kind, "collet-refused");
  EXPECT_TRUE(job.findings.front().stops_job);
  for (const Finding& finding : job.findings) {
    EXPECT_FALSE(finding.words.empty()) << finding.kind;
    EXPECT_EQ(finding.words.find("safe"), std::string::npos)
        << finding.words; // the program predicts, no more
  }
}

TEST(RiskTimeline, TheCutterIsTimedBesideThePieceItFreed) {
  const JobChecks job = check_job(small_job());
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
  const JobChecks job = check_job(preview);
  const auto has = [&](const char* kind) {
    return std::any_of(job.findings.begin(), job.findings.end(),
                       [&](const Finding& f) { return f.kind == kind; });
  };
  EXPECT_TRUE(has("hold-down-not-given"));
  EXPECT_TRUE(has("collet-unknown"));
  EXPECT_TRUE(has("thickness-not-run"));
  EXPECT_TRUE(has("loose-piece"));
  EXPECT_TRUE(has("strand"));
}

} // namespace
} // namespace snagmap
