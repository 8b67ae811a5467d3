// Motion against worked examples (uniformly accelerated motion by hand), against the rules written out a
// second time, and against numerical integration in steps of 1e-5 s.
#include "sim/motion.hpp"
#include "sim/motion_ramp.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <limits>
#include <random>

using namespace snagmap;

namespace {

constexpr double kPi = 3.14159265358979323846;
const double kInfinity = std::numeric_limits<double>::infinity();

MachineCard machine_of(double ax, double ay, double az) {
  MachineCard machine;
  machine.feed_mm_min = machine.rapid_mm_min = {1e5, 1e5, 1e5};
  machine.acceleration_mm_s2 = {ax, ay, az};
  machine.corner_deviation_mm = 0.02;
  return machine;
}
/// Straight moves through the points at one feed; the first point is the start.
Path polyline(const std::vector<Vec3>& points, double feed_mm_min = 7000,
              CornerMode corner = CornerMode::blend) {
  Path path;
  for (std::size_t i = 1; i < points.size(); ++i) {
    Move move;
    move.from = points[i - 1];
    move.to = points[i];
    move.feed_mm_min = static_cast<float>(feed_mm_min);
    move.corner = corner;
    path.moves.push_back(move);
  }
  return path;
}
double time_of(const std::vector<Vec3>& points, const MachineCard& machine,
               CornerMode corner = CornerMode::blend) {
  return plan_motion(polyline(points, 7000, corner), machine).total_s();
}
std::vector<Vec3> walk(int moves, const std::function<Vec3(int)>& step) {
  std::vector<Vec3> points{{0, 0, 0}};
  for (int i = 0; i < moves; ++i)
    points.push_back(points.back() + step(i));
  return points;
}
std::vector<Vec3> turned(std::vector<Vec3> points, double degrees) {
  const double c = std::cos(degrees * kPi / 180), s = std::sin(degrees * kPi / 180);
  for (Vec3& p : points)
    p = {c * p.x - s * p.y, s * p.x + c * p.y, p.z};
  return points;
}
/// The worked examples have one acceleration along every direction, a machine has one along each axis. With
/// all directions and all changes of direction at odd multiples of 22.5 degrees, each axis box gives one and
/// the same.
MachineCard machine_for_octants() {
  const double a = 500 * std::cos(kPi / 8);
  return machine_of(a, a, a);
}
std::vector<Vec3> staircase() {
  return walk(30, [](int i) { return i % 2 ? Vec3{0, 10, 0} : Vec3{10, 0, 0}; });
}
std::vector<Vec3> raster() {
  return walk(39, [](int i) { return i % 2 ? Vec3{0, 3, 0} : Vec3{i % 4 ? -10.0 : 10.0, 0, 0}; });
}
/// Inner angle 60: legs at +-60 degrees from X. Changes of direction run along Y, so X and Y limits make 500
/// of each.
std::vector<Vec3> zigzag() {
  return walk(30, [](int i) { return Vec3{5, (i % 2 ? -10 : 10) * std::sqrt(0.75), 0}; });
}
std::vector<Vec3> chords(double radius, int n) {
  std::vector<Vec3> points;
  for (int i = 0; i <= n; ++i) {
    const double angle = 2 * kPi * (i % n) / n;
    points.push_back({radius * std::cos(angle), radius * std::sin(angle), 0});
  }
  return points;
}
Move circle(double radius, double feed = 7000) {
  Move move;
  move.kind = MoveKind::arc;
  move.from = move.to = {radius, 0, 0};
  move.turn_rad = static_cast<float>(2 * kPi);
  move.feed_mm_min = static_cast<float>(feed);
  return move;
}

/// Rules 2, 4 and 5 of acceleration-limited motion for a polyline, written out with angles, as the hand
/// would.
double by_hand(const std::vector<Vec3>& points, double feed, double deviation, bool chopped,
               const std::function<double(Vec3)>& acceleration) {
  const std::size_t n = points.size() - 1;
  std::vector<double> length(n), a(n), v(n + 1, 0.0);
  std::vector<Vec3> unit(n);
  for (std::size_t i = 0; i < n; ++i) {
    length[i] = norm(points[i + 1] - points[i]);
    unit[i] = (1 / length[i]) * (points[i + 1] - points[i]);
    a[i] = acceleration(unit[i]);
  }
  for (std::size_t i = 1; i < n; ++i) {
    const double turn = std::acos(std::min(1.0, std::max(-1.0, dot(unit[i - 1], unit[i]))));
    const double s = std::sin((kPi - turn) / 2);
    const Vec3 change = unit[i] - unit[i - 1];
    v[i] = feed;
    if (norm(change) < 1e-9)
      continue;
    const double across = acceleration((1 / norm(change)) * change);
    v[i] = std::min(v[i], std::sqrt(across * deviation * s / (1 - s)));
    if (chopped)
      v[i] = std::min(v[i], std::sqrt(across * std::min(length[i - 1], length[i]) / 2 / std::tan(turn / 2)));
  }
  for (std::size_t i = n; i-- > 0;)
    v[i] = std::min(v[i], std::sqrt(v[i + 1] * v[i + 1] + 2 * a[i] * length[i]));
  for (std::size_t i = 0; i < n; ++i)
    v[i + 1] = std::min(v[i + 1], std::sqrt(v[i] * v[i] + 2 * a[i] * length[i]));
  double time = 0;
  for (std::size_t i = 0; i < n; ++i) {
    const double d1 = (feed * feed - v[i] * v[i]) / (2 * a[i]),
                 d2 = (feed * feed - v[i + 1] * v[i + 1]) / (2 * a[i]);
    if (d1 + d2 <= length[i]) {
      time += (feed - v[i]) / a[i] + (feed - v[i + 1]) / a[i] + (length[i] - d1 - d2) / feed;
    } else {
      const double peak = std::sqrt((2 * a[i] * length[i] + v[i] * v[i] + v[i + 1] * v[i + 1]) / 2);
      time += (peak - v[i]) / a[i] + (peak - v[i + 1]) / a[i];
    }
  }
  return time;
}
double same_everywhere(Vec3) {
  return 500;
}

} // namespace

TEST(MotionWorked, AxisLimitsAtFortyFiveDegrees) {
  MachineCard machine = machine_of(500, 300, 200);
  machine.feed_mm_min = {8000, 5000, 3000};
  const Motion motion = plan_motion(polyline({{0, 0, 0}, {500, 500, 0}}, 1e6), machine);
  EXPECT_NEAR(motion.speed_peak_mm_s[0] * 60, 7071.07, 0.01);
  EXPECT_NEAR(motion.acceleration_mm_s2[0], 424.264, 0.001);
}

// Inner angle A between two legs at +-A/2 from X: the change of direction runs along X, where the limit is
// 500.
TEST(MotionWorked, CornerSpeedsByPathDeviation) {
  const std::pair<double, double> worked[] = {{170, 51.166}, {135, 11.017}, {90, 4.913},
                                              {60, 3.162},   {30, 1.869},   {0, 0}};
  for (const auto& [angle, speed] : worked) {
    const double half = angle / 2 * kPi / 180;
    const Vec3 in{-300 * std::cos(half), -300 * std::sin(half), 0},
        out{-300 * std::cos(half), 300 * std::sin(half), 0};
    const Motion motion = plan_motion(polyline({in, {0, 0, 0}, out}), machine_of(500, 5000, 500));
    EXPECT_NEAR(motion.speed_out_mm_s[0], speed, 6e-4) << "inner angle " << angle;
    EXPECT_EQ(motion.speed_out_mm_s[0], motion.speed_in_mm_s[1]);
  }
}

TEST(MotionWorked, ArcSpeedsByRadius) {
  const std::pair<double, double> worked[] = {{3, 38.73}, {6, 54.77}, {12.5, 79.06}, {20, 100.00}};
  for (const auto& [radius, speed] : worked) {
    Path path;
    path.moves.assign(5, circle(radius)); // rounds enough to reach the limit
    EXPECT_NEAR(plan_motion(path, machine_of(500, 500, 500)).speed_peak_mm_s[2], speed, 5e-3);
  }
  Path path;
  path.moves.assign(3, circle(27.23));
  EXPECT_NEAR(plan_motion(path, machine_of(500, 500, 500)).speed_peak_mm_s[1] * 60, 7000, 1e-3);
}

TEST(MotionWorked, M1AndM2OneMove) {
  const MachineCard machine = machine_of(500, 500, 500);
  const Path path = polyline({{0, 0, 0}, {300, 0, 0}});
  const Motion motion = plan_motion(path, machine);
  EXPECT_NEAR(motion.total_s(), 2.804762, 1e-6);
  const SpeedProfile profile = speed_profile(path, motion, 0);
  EXPECT_NEAR(profile.up.to_mm, 13.611, 5e-4);
  EXPECT_NEAR(profile.up.end_s, 0.2333, 5e-5);
  const Motion brief = plan_motion(polyline({{0, 0, 0}, {10, 0, 0}}), machine);
  EXPECT_NEAR(brief.total_s(), 0.282843, 1e-6);
  EXPECT_NEAR(brief.speed_peak_mm_s[0], 70.711, 1e-3);
}

TEST(MotionWorked, M3AndM4MovesInLine) {
  const auto points = walk(30, [](int) { return Vec3{10, 0, 0}; });
  const MachineCard machine = machine_of(500, 500, 500);
  EXPECT_NEAR(time_of(points, machine), 2.804762, 1e-6);
  EXPECT_NEAR(time_of(points, machine, CornerMode::exact_stop), 8.485281, 1e-6);
  EXPECT_NEAR(time_of(points, machine, CornerMode::exact_path), 2.804762, 1e-6); // no true corner, no stop
}

TEST(MotionWorked, M5Staircase) {
  const auto points = turned(staircase(), 22.5);
  EXPECT_NEAR(time_of(points, machine_for_octants()), 7.935098, 1e-6);
  EXPECT_NEAR(time_of(points, machine_for_octants(), CornerMode::exact_stop), 8.485281, 1e-6);
  EXPECT_NEAR(time_of(points, machine_for_octants(), CornerMode::exact_path), 8.485281, 1e-6); // true corners
}

TEST(MotionWorked, M6Raster) {
  const auto points = turned(raster(), 22.5);
  EXPECT_NEAR(time_of(points, machine_for_octants()), 7.890026, 1e-6);
  EXPECT_NEAR(time_of(points, machine_for_octants(), CornerMode::exact_stop), 8.600321, 1e-6);
}

TEST(MotionWorked, M7ZigZag) {
  EXPECT_NEAR(time_of(zigzag(), machine_of(250, 500, 500)), 8.126656, 1e-6);
}

TEST(MotionWorked, M8OneCorner) {
  const auto points = turned({{0, 0, 0}, {100, 0, 0}, {100, 100, 0}}, 22.5);
  EXPECT_NEAR(time_of(points, machine_for_octants()), 2.161712, 1e-6);
  EXPECT_NEAR(time_of(points, machine_for_octants(), CornerMode::exact_stop), 2.180952, 1e-6);
}

TEST(MotionWorked, M9RampsBetweenGivenSpeeds) {
  const double a = 500, v0 = 20, v1 = 40;
  const auto time = [&](double length, double& peak) {
    peak = peak_speed_mm_s(v0, v1, 100, length, a, 0);
    const Ramp up{v0, peak, a, 0}, down{peak, v1, a, 0};
    return ramp_time_s(up) + ramp_time_s(down) + (length - ramp_length_mm(up) - ramp_length_mm(down)) / peak;
  };
  double peak = 0;
  EXPECT_NEAR(time(50, peak), 0.6, 1e-9);
  EXPECT_EQ(peak, 100);
  EXPECT_NEAR(time(5, peak), 0.116643, 1e-6);
  EXPECT_NEAR(peak, 59.161, 1e-3);
}

TEST(MotionWorked, M10VerticalMove) {
  const Motion motion = plan_motion(polyline({{0, 0, 0}, {0, 0, 30}}, 1500), machine_of(500, 500, 200));
  EXPECT_NEAR(motion.total_s(), 1.325, 1e-6);
}

TEST(MotionWorked, M11CircleAsTrueArcAndAsChords) {
  Path path;
  path.moves = {circle(20)};
  EXPECT_NEAR(plan_motion(path, machine_of(500, 500, 500)).total_s(), 1.456637, 1e-6);
  // Chords turn through all directions, so the one acceleration of the worked example needs the rules by
  // hand...
  EXPECT_NEAR(by_hand(chords(20, 36), 7000.0 / 60, 0.02, true, same_everywhere), 2.259967, 1e-6);
  EXPECT_NEAR(by_hand(chords(20, 72), 7000.0 / 60, 0.02, true, same_everywhere), 1.434767, 1e-6);
  EXPECT_NEAR(by_hand(chords(20, 360), 7000.0 / 60, 0.02, true, same_everywhere), 1.452077, 1e-6);
  EXPECT_NEAR(by_hand(chords(20, 72), 7000.0 / 60, 0.02, false, same_everywhere), 1.410695, 1e-6);
  EXPECT_NEAR(by_hand(chords(20, 360), 7000.0 / 60, 0.02, false, same_everywhere), 1.310437, 1e-6);
}

// ... and the planner must agree with the rules by hand when both keep the limits of each axis.
TEST(Motion, PlannerAgreesWithTheRulesByHandOnRandomPaths) {
  std::mt19937_64 random(5);
  std::uniform_real_distribution<double> coordinate(-15, 15), limit(100, 900);
  for (int n = 0; n < 60; ++n) {
    const MachineCard machine = machine_of(limit(random), limit(random), limit(random));
    const auto points = n < 20 ? chords(5 + n, 20 + 17 * n) : walk(200, [&](int) {
      return Vec3{coordinate(random), coordinate(random), coordinate(random)};
    });
    const auto axis_limited = [&](Vec3 u) {
      double a = kInfinity;
      const double parts[3] = {std::abs(u.x), std::abs(u.y), std::abs(u.z)};
      for (std::size_t axis = 0; axis < 3; ++axis)
        if (parts[axis] > 1e-12)
          a = std::min(a, machine.acceleration_mm_s2[axis] / parts[axis]);
      return a;
    };
    const double hand = by_hand(points, 3000.0 / 60, 0.02, true, axis_limited);
    EXPECT_NEAR(plan_motion(polyline(points, 3000), machine).total_s(), hand, 1e-6 * hand) << n;
  }
}

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

namespace {

/// A path with lines, arcs, helices, a dwell and rapids, for the checks below.
Path mixed_path() {
  Path path = polyline({{0, 0, 5}, {20, 0, 0}, {50, 7, 0}}, 6000);
  Move helix = circle(8, 5000);
  helix.from = {50, 7, 0};
  helix.to = {50, 7, -3};
  helix.centre = {58, 7};
  path.moves.push_back(helix);
  Move wall = circle(6, 5000);
  wall.plane = ArcPlane::zx;
  wall.from = {50, 7, -3};
  wall.to = {62, 7, -3};
  wall.centre = {-3, 56};
  wall.turn_rad = static_cast<float>(kPi);
  path.moves.push_back(wall);
  Move dwell;
  dwell.kind = MoveKind::dwell;
  dwell.from = dwell.to = wall.to;
  dwell.feed_mm_min = 0.25f;
  path.moves.push_back(dwell);
  Move rapid;
  rapid.kind = MoveKind::rapid;
  rapid.from = wall.to;
  rapid.to = {0, 0, 30};
  path.moves.push_back(rapid);
  return path;
}

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
