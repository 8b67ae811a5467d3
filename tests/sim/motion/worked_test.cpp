// Motion against worked examples (uniformly accelerated motion by hand) and against the rules written out a
// second time.
#include "sim/motion/ramp.hpp"
#include "tests/sim/motion_paths.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <random>

using namespace snagmap;

namespace {

const double kInfinity = std::numeric_limits<double>::infinity();

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
  // v = 7000/60 mm/s is reached after v^2/2a = 13.611 mm, at v/a = 0.2333 s.
  const MotionPoint knee = motion_at(path, motion, 0, 13.611 / 300);
  EXPECT_NEAR(knee.time_s, 0.2333, 5e-5);
  EXPECT_NEAR(knee.speed_mm_s, 7000.0 / 60, 5e-3);
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
