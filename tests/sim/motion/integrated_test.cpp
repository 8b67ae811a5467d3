// Motion against numerical integration in steps of 1e-5 s, and the S-shaped ramp against its textbook time.
#include "sim/motion/ramp.hpp"
#include "tests/sim/motion_paths.hpp"

#include <gtest/gtest.h>

#include <cmath>

using namespace snagmap;

namespace {

/// Time to run a length, by steps of 1e-5 s from both ends at once: time backwards from the far end is an
/// acceleration too. The slower side always steps next, so the two meet at the peak. No formula of the
/// planner is used.
double stepped_time(double length, double in, double cap, double out, double a) {
  const double dt = 1e-5;
  double speed[2] = {in, out}, run = 0, t = 0;
  for (;;) {
    double& v = speed[0] <= speed[1] ? speed[0] : speed[1];
    const double after = std::min(v + a * dt, cap), step = 0.5 * (v + after) * dt;
    if (run + step >= length)
      return t + dt * (length - run) / step;
    run += step;
    v = after;
    t += dt;
  }
}

} // namespace

TEST(MotionIntegrated, EveryMovesTimeAgreesWithStepsOf1e5) {
  const Path path = mixed_path();
  const Motion motion = plan_motion(path, machine_of(500, 300, 200));
  for (std::size_t i = 0; i < path.moves.size(); ++i) {
    if (length_mm(path.moves[i]) == 0)
      continue;
    const double stepped =
        stepped_time(length_mm(path.moves[i]), motion.speed_in_mm_s[i], motion.speed_peak_mm_s[i],
                     motion.speed_out_mm_s[i], motion.acceleration_mm_s2[i]);
    // One step at the cap on each side may run short of its full acceleration, and one at the meeting.
    // few.
    EXPECT_NEAR(motion.start_s[i + 1] - motion.start_s[i], stepped, 3e-5) << "move " << i;
  }
}

class MotionStepped : public ::testing::TestWithParam<double> {};

// d(length)/dt from place_at must be the speed motion_at gives, with every axis within its limits.
TEST_P(MotionStepped, StepsOf1e5AlongThePathKeepEveryAxisWithinItsLimits) {
  MachineCard machine = machine_of(500, 300, 200);
  machine.feed_mm_min = {8000, 5000, 3000};
  machine.rapid_mm_min = {9000, 6000, 4000};
  machine.jerk_mm_s3 = {GetParam(), GetParam(), GetParam()};
  const Path path = mixed_path();
  const Motion motion = plan_motion(path, machine);
  const double dt = 1e-5;
  double integral = 0, total = 0, speed_before = 0, slope_before = 0;
  std::size_t move_before = path.moves.size();
  int inside = 0; // samples since the move began
  for (const Move& move : path.moves)
    total += length_mm(move);
  for (double t = 0.5 * dt; t < motion.total_s(); t += dt) {
    const PathPlace at = place_at(path, motion, t);
    const MotionPoint point = motion_at(path, motion, at.move, at.s);
    if (length_mm(path.moves[at.move]) == 0)
      continue;
    integral += point.speed_mm_s * dt;
    ASSERT_NEAR(point.time_s, t, 1e-6);
    // Slopes of the speed by differences, away from the ends of a move.
    inside = at.move == move_before ? inside + 1 : 0;
    const double slope = (point.speed_mm_s - speed_before) / dt, a = motion.acceleration_mm_s2[at.move];
    if (inside >= 1) {
      ASSERT_LE(std::abs(slope), a * 1.001) << "move " << at.move << " at " << t;
    }
    if (inside >= 2 && GetParam() > 0) {
      ASSERT_LE(std::abs(slope - slope_before) / dt, motion.jerk_mm_s3[at.move] * 1.05 + 1)
          << "move " << at.move << " at " << t;
    }
    move_before = at.move;
    speed_before = point.speed_mm_s;
    slope_before = slope;
    const Vec3 u = direction_at(path.moves[at.move], at.s);
    const auto& limit =
        path.moves[at.move].kind == MoveKind::rapid ? machine.rapid_mm_min : machine.feed_mm_min;
    const double slack = 1 + 1e-5; // speeds are kept as floats
    ASSERT_LE(std::abs(u.x) * point.speed_mm_s, limit[0] / 60 * slack);
    ASSERT_LE(std::abs(u.y) * point.speed_mm_s, limit[1] / 60 * slack);
    ASSERT_LE(std::abs(u.z) * point.speed_mm_s, limit[2] / 60 * slack);
  }
  EXPECT_NEAR(integral, total, 1e-4 * total);
}
INSTANTIATE_TEST_SUITE_P(JerkLimits, MotionStepped, ::testing::Values(0.0, 5000.0, 400.0));

TEST(MotionJerk, LongRampTakesTheTextbookTimeOfAnS) {
  // Speed change 100 at a 500 and jerk 5000: 100/500 + 500/5000 s, half of it at the mean speed.
  const Ramp ramp{0, 100, 500, 5000};
  EXPECT_NEAR(ramp_time_s(ramp), 0.3, 1e-12);
  EXPECT_NEAR(ramp_length_mm(ramp), 15, 1e-12);
  // Change 20 never reaches a = 500 (that takes 50): 2 sqrt(20 / 5000).
  EXPECT_NEAR(ramp_time_s({0, 20, 500, 5000}), 2 * std::sqrt(20.0 / 5000), 1e-12);
}

TEST(MotionJerk, LimitMakesAPathSlowerAndAHugeLimitChangesNothing) {
  MachineCard machine = machine_of(500, 300, 200);
  const Path path = mixed_path();
  const double free = plan_motion(path, machine).total_s();
  machine.jerk_mm_s3 = {1e12, 1e12, 1e12};
  EXPECT_NEAR(plan_motion(path, machine).total_s(), free, 1e-5);
  machine.jerk_mm_s3 = {5000, 5000, 5000};
  EXPECT_GT(plan_motion(path, machine).total_s(), free);
}

TEST(Motion, PlaceAndTimeAreInverseAtAnyPoint) {
  const Path path = mixed_path();
  for (const double jerk : {0.0, 5000.0}) {
    MachineCard machine = machine_of(500, 300, 200);
    machine.jerk_mm_s3 = {jerk, jerk, jerk};
    const Motion motion = plan_motion(path, machine);
    for (int k = 0; k <= 1000; ++k) {
      const double t = motion.total_s() * k / 1000;
      const PathPlace at = place_at(path, motion, t);
      EXPECT_NEAR(motion_at(path, motion, at.move, at.s).time_s, t, 1e-5);
    }
    for (std::size_t i = 0; i < path.moves.size(); ++i) {
      EXPECT_NEAR(motion_at(path, motion, i, 0).time_s, motion.start_s[i], 1e-9);
      EXPECT_NEAR(motion_at(path, motion, i, 1).time_s, motion.start_s[i + 1], 1e-9);
    }
  }
}
