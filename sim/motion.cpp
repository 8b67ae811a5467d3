#include "sim/motion.hpp"

#include "sim/motion_ramp.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace snagmap {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
/// Directions closer than this meet without a true corner: words rounded to 0.001 mm turn a 1 mm move by as much.
constexpr double kTangent_rad = 2e-3;

bool stands_still(const Move& move) {
  return move.kind == MoveKind::dwell || move.kind == MoveKind::stop || move.kind == MoveKind::tool_change;
}

std::array<double, 3> parts(Vec3 v) { return {std::abs(v.x), std::abs(v.y), std::abs(v.z)}; }

/// The greatest rate along a direction whose parts by axis are `share` that keeps every axis within its limit.
/// Axes whose limit is not given (0) do not limit.
double axis_limited(const std::array<double, 3>& limit, const std::array<double, 3>& share) {
  double rate = kInfinity;
  for (int axis = 0; axis < 3; ++axis)
    if (share[axis] > 1e-12 && limit[axis] > 0) rate = std::min(rate, limit[axis] / share[axis]);
  return rate;
}

/// The greatest share of the speed each axis can see along the move: on an arc the plane's axes may see all of it.
struct Shares {
  std::array<double, 3> axis{};
  double in_plane = 1; ///< arcs: share of the speed that runs round the circle
  double radius_mm = 0;
};
Shares shares_of(const Move& move, double length) {
  if (move.kind != MoveKind::arc) return {parts((1 / length) * (move.to - move.from)), 1, 0};
  const int third = move.plane == ArcPlane::xy ? 2 : move.plane == ArcPlane::zx ? 1 : 0;
  const double rise = parts(move.to - move.from)[third];
  Shares shares;
  shares.in_plane = std::sqrt(std::max(0.0, 1 - (rise / length) * (rise / length)));
  for (int axis = 0; axis < 3; ++axis) shares.axis[axis] = axis == third ? rise / length : shares.in_plane;
  const double turn = std::abs(arc_turn_rad(move));
  shares.radius_mm = length * shares.in_plane / turn;
  return shares;
}

/// Speed at which a corner between two unit directions keeps within the deviation, and within what the shorter
/// neighbour allows when the corner is one of many that make a chopped arc.
double corner_speed(Vec3 before, Vec3 after, double deviation_mm, double shorter_mm, CornerMode mode,
                    const std::array<double, 3>& acceleration) {
  if (mode == CornerMode::exact_stop) return 0;
  const Vec3 change = after - before;
  const double size = norm(change); // 2 sin(turn / 2)
  if (mode == CornerMode::exact_path) return size > kTangent_rad ? 0 : kInfinity;
  if (size < 1e-9) return kInfinity;
  const double a = axis_limited(acceleration, parts((1 / size) * change));
  const double half = 0.5 * size;                              // cos(A / 2), A the inner angle
  const double s = std::sqrt(std::max(0.0, 1 - half * half)); // sin(A / 2)
  const double by_deviation = a * deviation_mm * s * (1 + s) / (half * half);
  const double by_chord = a * 0.5 * shorter_mm * s / half; // tan(turn / 2) = half / s
  return std::sqrt(std::min(by_deviation, by_chord));
}

double standing_s(const Move& move, const MachineCard& machine, float rpm_before) {
  double time = 0;
  if (move.kind == MoveKind::dwell) time += static_cast<double>(move.feed_mm_min); // holds seconds
  if (move.kind == MoveKind::tool_change) time += machine.tool_change_s;
  if (rpm_before == 0 && move.spindle_rpm > 0) time += machine.spindle_run_up_s;
  return time;
}

/// The trapezoid of one move in double precision, from the stored floats.
struct Profile {
  Ramp up, down;
  double up_mm, down_mm, length_mm;
};
Profile profile_of(const Motion& motion, std::size_t i, double length) {
  const double in = motion.speed_in_mm_s[i], peak = motion.speed_peak_mm_s[i], out = motion.speed_out_mm_s[i];
  const double a = motion.acceleration_mm_s2[i], j = motion.jerk_mm_s3.empty() ? 0 : motion.jerk_mm_s3[i];
  Profile profile{{in, peak, a, j}, {peak, out, a, j}, 0, 0, length};
  profile.up_mm = std::min(length, ramp_length_mm(profile.up));
  profile.down_mm = std::min(length - profile.up_mm, ramp_length_mm(profile.down));
  return profile;
}
double duration_s(const Profile& profile) {
  const double hold = profile.length_mm - profile.up_mm - profile.down_mm;
  return ramp_time_s(profile.up) + ramp_time_s(profile.down) + (hold > 0 ? hold / profile.up.v1_mm_s : 0);
}

} // namespace

Motion plan_motion(const Path& path, const MachineCard& machine) {
  const std::size_t n = path.moves.size();
  Motion motion;
  motion.start_s.resize(n + 1);
  motion.speed_in_mm_s.resize(n);
  motion.speed_peak_mm_s.resize(n);
  motion.speed_out_mm_s.resize(n);
  motion.acceleration_mm_s2.resize(n);
  const bool jerky = std::any_of(machine.jerk_mm_s3.begin(), machine.jerk_mm_s3.end(), [](double j) { return j > 0; });
  if (jerky) motion.jerk_mm_s3.resize(n);
  const auto jerk_of = [&](std::size_t i) { return jerky ? static_cast<double>(motion.jerk_mm_s3[i]) : 0.0; };

  // Limits of each move by itself, and of the speed at which it may begin.
  std::vector<double> length(n), cap(n), entry(n + 1, 0.0);
  std::array<double, 3> feed_mm_s{}, rapid_mm_s{};
  for (int axis = 0; axis < 3; ++axis) {
    feed_mm_s[axis] = machine.feed_mm_min[axis] / 60;
    rapid_mm_s[axis] = machine.rapid_mm_min[axis] / 60;
  }
  Vec3 heading;
  double length_before = 0; // 0: the machine stands
  for (std::size_t i = 0; i < n; ++i) {
    const Move& move = path.moves[i];
    length[i] = length_mm(move);
    if (length[i] <= 0) {
      // A line without length does not stop the machine; a dwell, stop or change does.
      if (stands_still(move)) length_before = 0;
      entry[i] = length_before > 0 ? kInfinity : 0;
      continue;
    }
    const Shares shares = shares_of(move, length[i]);
    cap[i] = axis_limited(move.kind == MoveKind::rapid ? rapid_mm_s : feed_mm_s, shares.axis);
    if (move.kind != MoveKind::rapid && move.feed_mm_min > 0)
      cap[i] = std::min(cap[i], static_cast<double>(move.feed_mm_min) / 60);
    const double a = axis_limited(machine.acceleration_mm_s2, shares.axis);
    if (move.kind == MoveKind::arc) {
      std::array<double, 3> plane = shares.axis;
      plane[move.plane == ArcPlane::xy ? 2 : move.plane == ArcPlane::zx ? 1 : 0] = 0;
      for (double& share : plane) share = share > 0 ? 1 : 0;
      const double across = axis_limited(machine.acceleration_mm_s2, plane);
      cap[i] = std::min(cap[i], std::sqrt(across * shares.radius_mm) / shares.in_plane);
    }
    motion.acceleration_mm_s2[i] = static_cast<float>(a);
    if (jerky) {
      const double j = axis_limited(machine.jerk_mm_s3, shares.axis);
      motion.jerk_mm_s3[i] = std::isinf(j) ? 0.0f : static_cast<float>(j);
    }
    if (length_before > 0) {
      const Move& before = path.moves[i - 1];
      const double deviation = before.blend_um > 0 ? before.blend_um * 1e-3 : machine.corner_deviation_mm;
      entry[i] = corner_speed(heading, direction_at(move, 0), deviation, std::min(length_before, length[i]),
                              before.corner, machine.acceleration_mm_s2);
    }
    heading = direction_at(move, 1);
    length_before = length[i];
  }

  // Pass back: every move must be able to slow to what follows. Pass forward: and to reach it.
  for (std::size_t i = n; i-- > 0;) {
    if (length[i] <= 0) {
      entry[i] = std::min(entry[i], entry[i + 1]);
      continue;
    }
    entry[i + 1] = std::min(entry[i + 1], cap[i]);
    entry[i] = std::min(entry[i], reachable_speed_mm_s(entry[i + 1], cap[i], length[i], motion.acceleration_mm_s2[i],
                                                       jerk_of(i)));
  }
  double time = 0;
  float rpm = 0;
  for (std::size_t i = 0; i < n; ++i) {
    motion.start_s[i] = time;
    const Move& move = path.moves[i];
    if (length[i] <= 0) {
      entry[i + 1] = std::min(entry[i + 1], entry[i]);
      motion.speed_in_mm_s[i] = motion.speed_peak_mm_s[i] = motion.speed_out_mm_s[i] = static_cast<float>(entry[i]);
      if (stands_still(move)) time += standing_s(move, machine, rpm);
    } else {
      const double a = motion.acceleration_mm_s2[i];
      entry[i + 1] = std::min(entry[i + 1], reachable_speed_mm_s(entry[i], cap[i], length[i], a, jerk_of(i)));
      const double peak = peak_speed_mm_s(entry[i], entry[i + 1], cap[i], length[i], a, jerk_of(i));
      motion.speed_in_mm_s[i] = static_cast<float>(entry[i]);
      motion.speed_out_mm_s[i] = static_cast<float>(entry[i + 1]);
      motion.speed_peak_mm_s[i] = static_cast<float>(peak);
      time += duration_s(profile_of(motion, i, length[i]));
    }
    rpm = move.spindle_rpm;
  }
  motion.start_s[n] = time;
  return motion;
}

MotionPoint motion_at(const Path& path, const Motion& motion, std::size_t move, double s) {
  const double length = length_mm(path.moves[move]);
  const double start = motion.start_s[move], end = motion.start_s[move + 1];
  if (length <= 0) return {start + std::clamp(s, 0.0, 1.0) * (end - start), motion.speed_in_mm_s[move]};
  const Profile profile = profile_of(motion, move, length);
  const double x = std::clamp(s, 0.0, 1.0) * length;
  if (x <= profile.up_mm) {
    const RampPoint point = ramp_at_length(profile.up, x);
    return {start + point.time_s, point.speed_mm_s};
  }
  const double into_down = x - (length - profile.down_mm);
  if (into_down <= 0)
    return {start + ramp_time_s(profile.up) + (x - profile.up_mm) / profile.up.v1_mm_s, profile.up.v1_mm_s};
  const RampPoint point = ramp_at_length(profile.down, into_down);
  return {end - ramp_time_s(profile.down) + point.time_s, point.speed_mm_s};
}

PathPlace place_at(const Path& path, const Motion& motion, double time_s) {
  const std::size_t n = path.moves.size();
  if (n == 0) return {};
  const double t = std::clamp(time_s, 0.0, motion.total_s());
  const auto after = std::upper_bound(motion.start_s.begin(), motion.start_s.begin() + static_cast<long>(n), t);
  const std::size_t i = after == motion.start_s.begin() ? 0 : static_cast<std::size_t>(after - motion.start_s.begin()) - 1;
  const double into = t - motion.start_s[i], duration = motion.start_s[i + 1] - motion.start_s[i];
  const double length = length_mm(path.moves[i]);
  if (length <= 0) return {i, duration > 0 ? into / duration : 0};
  const Profile profile = profile_of(motion, i, length);
  const double up_s = ramp_time_s(profile.up), down_s = ramp_time_s(profile.down);
  double x = 0;
  if (into <= up_s) x = ramp_at_time(profile.up, into).length_mm;
  else if (into <= duration - down_s) x = profile.up_mm + (into - up_s) * profile.up.v1_mm_s;
  else x = length - profile.down_mm + ramp_at_time(profile.down, into - (duration - down_s)).length_mm;
  return {i, std::clamp(x / length, 0.0, 1.0)};
}

} // namespace snagmap
