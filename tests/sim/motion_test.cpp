// Motion against worked examples: uniformly accelerated motion by hand, and numerical integration at 1e-5 s.
#include "sim/motion.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <random>

using namespace snagmap;

namespace {

constexpr double kPi = 3.14159265358979323846;

MachineCard worked_machine() {
  MachineCard machine;
  machine.feed_mm_min = machine.rapid_mm_min = {1e5, 1e5, 1e5};
  machine.acceleration_mm_s2 = {500, 500, 500};
  machine.corner_deviation_mm = 0.02;
  return machine;
}
/// Straight moves through the points at one feed; the first point is the start.
Path polyline(const std::vector<Vec3>& points, double feed_mm_min = 7000, CornerMode corner = CornerMode::blend) {
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
double time_of(const std::vector<Vec3>& points, CornerMode corner = CornerMode::blend, double feed = 7000) {
  // The worked examples limit the path's acceleration, not the axes', so diagonal corners use equal, wide axes.
  return plan_motion(polyline(points, feed, corner), worked_machine()).total_s();
}
Path circle(double radius) {
  Path path;
  Move move;
  move.kind = MoveKind::arc;
  move.from = move.to = {radius, 0, 0};
  move.turn_rad = static_cast<float>(2 * kPi);
  move.feed_mm_min = 7000;
  path.moves = {move};
  return path;
}

} // namespace

TEST(MotionWorked, AxisLimitsAtFortyFiveDegrees) {
  MachineCard machine = worked_machine();
  machine.feed_mm_min = {8000, 5000, 3000};
  machine.acceleration_mm_s2 = {500, 300, 200};
  const Motion motion = plan_motion(polyline({{0, 0, 0}, {500, 500, 0}}, 1e6), machine);
  EXPECT_NEAR(motion.speed_peak_mm_s[0] * 60, 7071.07, 0.01);
  EXPECT_NEAR(motion.acceleration_mm_s2[0], 424.264, 0.001);
}

TEST(MotionWorked, M1AndM2OneMove) {
  EXPECT_NEAR(time_of({{0, 0, 0}, {300, 0, 0}}), 2.804762, 1e-6);
  const Path path = polyline({{0, 0, 0}, {10, 0, 0}});
  const Motion motion = plan_motion(path, worked_machine());
  EXPECT_NEAR(motion.total_s(), 0.282843, 1e-6);
  EXPECT_NEAR(motion.speed_peak_mm_s[0], 70.711, 1e-3);
}

TEST(MotionWorked, M3AndM4MovesInLine) {
  std::vector<Vec3> points;
  for (int i = 0; i <= 30; ++i) points.push_back({10.0 * i, 0, 0});
  EXPECT_NEAR(time_of(points), 2.804762, 1e-6);
  EXPECT_NEAR(time_of(points, CornerMode::exact_stop), 8.485281, 1e-6);
  EXPECT_NEAR(time_of(points, CornerMode::exact_path), 2.804762, 1e-6); // no true corner, no stop
}

TEST(MotionWorked, M10VerticalMove) {
  MachineCard machine = worked_machine();
  machine.acceleration_mm_s2 = {500, 500, 200};
  EXPECT_NEAR(plan_motion(polyline({{0, 0, 0}, {0, 0, 30}}, 1500), machine).total_s(), 1.325, 1e-6);
}

TEST(MotionWorked, M11CircleAsTrueArc) {
  EXPECT_NEAR(plan_motion(circle(20), worked_machine()).total_s(), 1.456637, 1e-6);
}
