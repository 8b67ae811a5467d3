// What the planner must do besides the worked examples: splits, stops, standing moves, tolerances of the
// program.
#include "tests/sim/motion_paths.hpp"

#include <gtest/gtest.h>

#include <cmath>

using namespace snagmap;

TEST(Motion, SplittingAMoveChangesNoTime) {
  const MachineCard machine = machine_of(500, 300, 200);
  const double whole = time_of({{0, 0, 0}, {70, 40, 5}, {90, -10, 5}}, machine);
  EXPECT_NEAR(time_of({{0, 0, 0}, {14, 8, 1}, {70, 40, 5}, {80, 15, 5}, {90, -10, 5}}, machine), whole, 1e-6);
}

TEST(Motion, StandingMovesTakeTheirTimeAndStopTheMachine) {
  MachineCard machine = machine_of(500, 500, 500);
  machine.tool_change_s = 90;
  machine.spindle_run_up_s = 3;
  Path path = polyline({{0, 0, 0}, {10, 0, 0}, {20, 0, 0}});
  for (Move& move : path.moves)
    move.spindle_rpm = 18000;
  Move change, start, dwell;
  change.kind = MoveKind::tool_change;
  start.kind = MoveKind::dwell;
  start.spindle_rpm = 18000;
  dwell.kind = MoveKind::dwell;
  dwell.from = dwell.to = {10, 0, 0};
  dwell.spindle_rpm = 18000;
  dwell.feed_mm_min = 1.5f; // seconds
  path.moves.insert(path.moves.begin() + 1, dwell);
  path.moves.insert(path.moves.begin(), {change, start});
  const Motion motion = plan_motion(path, machine);
  const double leg = 2 * std::sqrt(10.0 / 500);
  EXPECT_NEAR(motion.total_s(), 90 + 3 + leg + 1.5 + leg, 1e-6);
  EXPECT_EQ(motion.speed_out_mm_s[2], 0);
}

TEST(Motion, LineWithoutLengthDoesNotStopTheMachine) {
  const MachineCard machine = machine_of(500, 500, 500);
  EXPECT_NEAR(time_of({{0, 0, 0}, {100, 0, 0}, {100, 0, 0}, {300, 0, 0}}, machine), 2.804762, 1e-6);
}

TEST(Motion, G64ToleranceOfTheProgramReplacesTheMachines) {
  MachineCard machine = machine_for_octants();
  Path path = polyline(turned(staircase(), 22.5));
  for (Move& move : path.moves)
    move.blend_um = 20;
  machine.corner_deviation_mm = 5;
  EXPECT_NEAR(plan_motion(path, machine).total_s(), 7.935098, 1e-6);
}

TEST(Motion, EmptyPathTakesNoTime) {
  EXPECT_EQ(plan_motion({}, machine_of(1, 1, 1)).total_s(), 0);
  EXPECT_EQ(place_at({}, plan_motion({}, machine_of(1, 1, 1)), 3).move, 0u);
}
