#include "sim/motion/motion.hpp"

#include "sim/motion/ramp.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>
#include <string>

namespace snagmap {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
/// Directions closer than this meet without a true corner: words rounded to 0.001 mm turn a 1 mm move by as
/// much.
constexpr double kTangent_rad = 2e-3;

bool stands_still(const Move& move) {
  return move.kind == MoveKind::dwell || move.kind == MoveKind::stop || move.kind == MoveKind::tool_change;
}

std::size_t third_axis(ArcPlane plane) {
  return plane == ArcPlane::xy ? 2 : plane == ArcPlane::zx ? 1 : 0;
}

std::array<double, 3> parts(Vec3 v) {
  return {std::abs(v.x), std::abs(v.y), std::abs(v.z)};
}

/// The greatest rate along a direction whose parts by axis are `share` that keeps every axis within its
/// limit. Axes whose limit is not given (0) do not limit.
double axis_limited(const std::array<double, 3>& limit, const std::array<double, 3>& share) {
  double rate = kInfinity;
  for (std::size_t axis = 0; axis < 3; ++axis)
    if (share[axis] > 1e-12 && limit[axis] > 0)
      rate = std::min(rate, limit[axis] / share[axis]);
  return rate;
}

/// The greatest share of the speed each axis can see along the move: on an arc the plane's axes may see all
/// of it.
struct Shares {
  std::array<double, 3> axis{};
  double in_plane = 1; ///< arcs: share of the speed that runs round the circle
  double radius_mm = 0;
};
Shares shares_of(const Move& move, double length) {
  if (move.kind != MoveKind::arc)
    return {parts((1 / length) * (move.to - move.from)), 1, 0};
  const std::size_t third = third_axis(move.plane);
  const double rise = parts(move.to - move.from)[third];
  Shares shares;
  shares.in_plane = std::sqrt(std::max(0.0, 1 - (rise / length) * (rise / length)));
  for (std::size_t axis = 0; axis < 3; ++axis)
    shares.axis[axis] = axis == third ? rise / length : shares.in_plane;
  const double turn = std::abs(arc_turn_rad(move));
  shares.radius_mm = length * shares.in_plane / turn;
  return shares;
}

/// Speed at which a corner between two unit directions keeps within the deviation, and within what the
/// shorter neighbour allows when the corner is one of many that make a chopped arc.
double corner_speed(Vec3 before, Vec3 after, double deviation_mm, double shorter_mm, CornerMode mode,
                    const std::array<double, 3>& acceleration) {
  if (mode == CornerMode::exact_stop)
    return 0;
  const Vec3 change = after - before;
  const double size = norm(change); // 2 sin(turn / 2)
  if (mode == CornerMode::exact_path)
    return size > kTangent_rad ? 0 : kInfinity;
  if (size < 1e-9)
    return kInfinity;
  const double a = axis_limited(acceleration, parts((1 / size) * change));
  const double half = 0.5 * size;                             // cos(A / 2), A the inner angle
  const double s = std::sqrt(std::max(0.0, 1 - half * half)); // sin(A / 2)
  const double by_deviation = a * deviation_mm * s * (1 + s) / (half * half);
  const double by_chord = a * 0.5 * shorter_mm * s / half; // tan(turn / 2) = half / s
  return std::sqrt(std::min(by_deviation, by_chord));
}

/// Time of a move without length: a dwell's seconds, a change, and the run-up of a spindle that starts here.
double standing_s(const Path& path, std::size_t i, const MachineCard& machine) {
  const Move& move = path.moves[i];
  if (!stands_still(move))
    return 0;
  double time = 0;
  if (move.kind == MoveKind::dwell)
    time += static_cast<double>(move.feed_mm_min); // holds seconds
  if (move.kind == MoveKind::tool_change)
    time += machine.tool_change_s;
  const float before = i > 0 ? path.moves[i - 1].spindle_rpm : 0;
  if (move.spindle_rpm * before <= 0 && move.spindle_rpm != 0) // from rest, or from the other sense
    time += machine.spindle_run_up_s;
  return time;
}

/// The trapezoid of one move in double precision, from the stored floats.
struct Trapezoid {
  Ramp up, down;
  double up_mm, down_mm, length_mm;
};
Trapezoid trapezoid_of(const Motion& motion, std::size_t i, double length) {
  const double in = motion.speed_in_mm_s[i], peak = motion.speed_peak_mm_s[i], out = motion.speed_out_mm_s[i];
  const double a = motion.acceleration_mm_s2[i], j = motion.jerk_mm_s3.empty() ? 0 : motion.jerk_mm_s3[i];
  Trapezoid shape{{in, peak, a, j}, {peak, out, a, j}, 0, 0, length};
  shape.up_mm = std::min(length, ramp_length_mm(shape.up));
  shape.down_mm = std::min(length - shape.up_mm, ramp_length_mm(shape.down));
  return shape;
}
double duration_s(const Trapezoid& shape) {
  const double hold = shape.length_mm - shape.up_mm - shape.down_mm;
  return ramp_time_s(shape.up) + ramp_time_s(shape.down) + (hold > 0 ? hold / shape.up.v1_mm_s : 0);
}

/// What each move allows by itself, before its neighbours are asked.
struct Limits {
  std::vector<double> length_mm, cap_mm_s;
  std::vector<double> entry_mm_s; ///< one more than moves; the last is the rest at the end
};

bool has_jerk_limit(const MachineCard& machine) {
  return std::any_of(machine.jerk_mm_s3.begin(), machine.jerk_mm_s3.end(), [](double j) { return j > 0; });
}

std::array<double, 3> per_second(const std::array<double, 3>& per_minute) {
  return {per_minute[0] / 60, per_minute[1] / 60, per_minute[2] / 60};
}

/// Fills the accelerations (and jerks) of `motion`, and gives the greatest speed of each move and at each
/// start.
Limits own_limits(const Path& path, const MachineCard& machine, Motion& motion) {
  const std::size_t n = path.moves.size();
  Limits limits{std::vector<double>(n), std::vector<double>(n), std::vector<double>(n + 1, 0.0)};
  const std::array<double, 3> feed_mm_s = per_second(machine.feed_mm_min),
                              rapid_mm_s = per_second(machine.rapid_mm_min);
  Vec3 heading;
  double length_before = 0; // 0: the machine stands
  for (std::size_t i = 0; i < n; ++i) {
    const Move& move = path.moves[i];
    const double length = limits.length_mm[i] = length_mm(move);
    if (length <= 0) {
      // A line without length does not stop the machine; a dwell, stop or change does.
      if (stands_still(move))
        length_before = 0;
      limits.entry_mm_s[i] = length_before > 0 ? kInfinity : 0;
      continue;
    }
    const Shares shares = shares_of(move, length);
    double cap = axis_limited(move.kind == MoveKind::rapid ? rapid_mm_s : feed_mm_s, shares.axis);
    if (move.kind != MoveKind::rapid && !(move.feed_mm_min > 0))
      throw std::invalid_argument("a feed move of line " + std::to_string(move.line) + " has no feed");
    if (move.kind != MoveKind::rapid)
      cap = std::min(cap, static_cast<double>(move.feed_mm_min) / 60);
    if (move.kind == MoveKind::arc) {
      std::array<double, 3> round{1, 1, 1};
      round[third_axis(move.plane)] = 0;
      const double across = axis_limited(machine.acceleration_mm_s2, round);
      cap = std::min(cap, std::sqrt(across * shares.radius_mm) / shares.in_plane);
    }
    limits.cap_mm_s[i] = cap;
    motion.acceleration_mm_s2[i] = static_cast<float>(axis_limited(machine.acceleration_mm_s2, shares.axis));
    if (!motion.jerk_mm_s3.empty()) {
      const double j = axis_limited(machine.jerk_mm_s3, shares.axis);
      motion.jerk_mm_s3[i] = std::isinf(j) ? 0.0f : static_cast<float>(j);
    }
    if (length_before > 0) {
      const Move& before = path.moves[i - 1];
      const double deviation = before.blend_um > 0 ? before.blend_um * 1e-3 : machine.corner_deviation_mm;
      limits.entry_mm_s[i] =
          corner_speed(heading, direction_at(move, 0), deviation, std::min(length_before, length),
                       before.corner, machine.acceleration_mm_s2);
    }
    heading = direction_at(move, 1);
    length_before = length;
  }
  return limits;
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
  if (has_jerk_limit(machine))
    motion.jerk_mm_s3.resize(n);
  const auto jerk_of = [&](std::size_t i) {
    return motion.jerk_mm_s3.empty() ? 0.0 : static_cast<double>(motion.jerk_mm_s3[i]);
  };
  auto [length, cap, entry] = own_limits(path, machine, motion);

  // Pass back: every move must be able to slow to what follows.
  for (std::size_t i = n; i-- > 0;) {
    if (length[i] <= 0) {
      entry[i] = std::min(entry[i], entry[i + 1]);
      continue;
    }
    entry[i + 1] = std::min(entry[i + 1], cap[i]);
    const double within =
        reachable_speed_mm_s(entry[i + 1], cap[i], length[i], motion.acceleration_mm_s2[i], jerk_of(i));
    entry[i] = std::min(entry[i], within);
  }
  // Pass forward: and be able to reach it. Times follow from the speeds as stored.
  double time = 0;
  for (std::size_t i = 0; i < n; ++i) {
    motion.start_s[i] = time;
    motion.speed_in_mm_s[i] = static_cast<float>(entry[i]);
    if (length[i] <= 0) {
      entry[i + 1] = std::min(entry[i + 1], entry[i]);
      motion.speed_in_mm_s[i] = motion.speed_peak_mm_s[i] = motion.speed_out_mm_s[i] =
          static_cast<float>(entry[i + 1]);
      time += standing_s(path, i, machine);
    } else {
      const double a = motion.acceleration_mm_s2[i], jerk = jerk_of(i);
      entry[i + 1] = std::min(entry[i + 1], reachable_speed_mm_s(entry[i], cap[i], length[i], a, jerk));
      const double peak = peak_speed_mm_s(entry[i], entry[i + 1], cap[i], length[i], a, jerk);
      motion.speed_out_mm_s[i] = static_cast<float>(entry[i + 1]);
      motion.speed_peak_mm_s[i] = static_cast<float>(peak);
      time += duration_s(trapezoid_of(motion, i, length[i]));
    }
  }
  motion.start_s[n] = time;
  return motion;
}

double greatest_feed_mm_min(const Move& move, const MachineCard& machine) {
  const double length = length_mm(move);
  if (length <= 0)
    return kInfinity;
  return axis_limited(move.kind == MoveKind::rapid ? machine.rapid_mm_min : machine.feed_mm_min,
                      shares_of(move, length).axis);
}

MotionPoint motion_at(const Path& path, const Motion& motion, std::size_t move, double s) {
  const double length = length_mm(path.moves[move]);
  const double start = motion.start_s[move], end = motion.start_s[move + 1];
  if (length <= 0)
    return {start + std::clamp(s, 0.0, 1.0) * (end - start), motion.speed_in_mm_s[move]};
  const Trapezoid shape = trapezoid_of(motion, move, length);
  const double x = std::clamp(s, 0.0, 1.0) * length;
  if (x <= shape.up_mm) {
    const RampPoint point = ramp_at_length(shape.up, x);
    return {start + point.time_s, point.speed_mm_s};
  }
  const double left = length - x; // the way down is measured from its end, where the speed may be zero
  if (left >= shape.down_mm)
    return {start + ramp_time_s(shape.up) + (x - shape.up_mm) / shape.up.v1_mm_s, shape.up.v1_mm_s};
  const RampPoint point = ramp_at_length(shape.down, ramp_length_mm(shape.down) - left);
  return {end - ramp_time_s(shape.down) + point.time_s, point.speed_mm_s};
}

PathPlace place_at(const Path& path, const Motion& motion, double time_s) {
  const std::size_t n = path.moves.size();
  if (n == 0)
    return {};
  const double t = std::clamp(time_s, 0.0, motion.total_s());
  const auto after =
      std::upper_bound(motion.start_s.begin(), motion.start_s.begin() + static_cast<long>(n), t);
  const std::size_t i =
      after == motion.start_s.begin() ? 0 : static_cast<std::size_t>(after - motion.start_s.begin()) - 1;
  const double into = t - motion.start_s[i], duration = motion.start_s[i + 1] - motion.start_s[i];
  const double length = length_mm(path.moves[i]);
  if (length <= 0)
    return {i, duration > 0 ? into / duration : 0};
  const Trapezoid shape = trapezoid_of(motion, i, length);
  const double up_s = ramp_time_s(shape.up), down_s = ramp_time_s(shape.down);
  double x = 0;
  if (into <= up_s)
    x = ramp_at_time(shape.up, into).length_mm;
  else if (into <= duration - down_s)
    x = shape.up_mm + (into - up_s) * shape.up.v1_mm_s;
  else
    x = length - ramp_length_mm(shape.down) + ramp_at_time(shape.down, into - (duration - down_s)).length_mm;
  return {i, std::clamp(x / length, 0.0, 1.0)};
}

} // namespace snagmap
