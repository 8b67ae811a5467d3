// Paths and machines for the tests of the motion.
#pragma once

#include "sim/motion/motion.hpp"

#include <cmath>
#include <functional>
#include <vector>

namespace snagmap {

constexpr double kPi = 3.14159265358979323846;

inline MachineCard machine_of(double ax, double ay, double az) {
  MachineCard machine;
  machine.feed_mm_min = machine.rapid_mm_min = {1e5, 1e5, 1e5};
  machine.acceleration_mm_s2 = {ax, ay, az};
  machine.corner_deviation_mm = 0.02;
  return machine;
}
/// Straight moves through the points at one feed; the first point is the start.
inline Path polyline(const std::vector<Vec3>& points, double feed_mm_min = 7000,
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
inline double time_of(const std::vector<Vec3>& points, const MachineCard& machine,
                      CornerMode corner = CornerMode::blend) {
  return plan_motion(polyline(points, 7000, corner), machine).total_s();
}
inline std::vector<Vec3> walk(int moves, const std::function<Vec3(int)>& step) {
  std::vector<Vec3> points{{0, 0, 0}};
  for (int i = 0; i < moves; ++i)
    points.push_back(points.back() + step(i));
  return points;
}
inline std::vector<Vec3> turned(std::vector<Vec3> points, double degrees) {
  const double c = std::cos(degrees * kPi / 180), s = std::sin(degrees * kPi / 180);
  for (Vec3& p : points)
    p = {c * p.x - s * p.y, s * p.x + c * p.y, p.z};
  return points;
}
/// The worked examples have one acceleration along every direction, a machine has one along each axis. With
/// all directions and all changes of direction at odd multiples of 22.5 degrees, each axis box gives one and
/// the same.
inline MachineCard machine_for_octants() {
  const double a = 500 * std::cos(kPi / 8);
  return machine_of(a, a, a);
}
inline std::vector<Vec3> staircase() {
  return walk(30, [](int i) { return i % 2 ? Vec3{0, 10, 0} : Vec3{10, 0, 0}; });
}
inline std::vector<Vec3> raster() {
  return walk(39, [](int i) { return i % 2 ? Vec3{0, 3, 0} : Vec3{i % 4 ? -10.0 : 10.0, 0, 0}; });
}
/// Inner angle 60: legs at +-60 degrees from X. Changes of direction run along Y, so X and Y limits make 500
/// of each.
inline std::vector<Vec3> zigzag() {
  return walk(30, [](int i) { return Vec3{5, (i % 2 ? -10 : 10) * std::sqrt(0.75), 0}; });
}
inline std::vector<Vec3> chords(double radius, int n) {
  std::vector<Vec3> points;
  for (int i = 0; i <= n; ++i) {
    const double angle = 2 * kPi * (i % n) / n;
    points.push_back({radius * std::cos(angle), radius * std::sin(angle), 0});
  }
  return points;
}
inline Move circle(double radius, double feed = 7000) {
  Move move;
  move.kind = MoveKind::arc;
  move.from = move.to = {radius, 0, 0};
  move.turn_rad = static_cast<float>(2 * kPi);
  move.feed_mm_min = static_cast<float>(feed);
  return move;
}

/// A path with lines, arcs, helices, a dwell and rapids, for the checks below.
inline Path mixed_path() {
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

} // namespace snagmap
