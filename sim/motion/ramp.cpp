#include "sim/motion/ramp.hpp"

#include "models/base/crossing.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

/// Duration of each of the two jerk phases at the ends of an S.
double jerk_phase_s(const Ramp& ramp) {
  const double change = std::abs(ramp.v1_mm_s - ramp.v0_mm_s);
  const double full = ramp.acceleration_mm_s2 / ramp.jerk_mm_s3; // time to build the whole acceleration
  return change >= ramp.acceleration_mm_s2 * full ? full : std::sqrt(change / ramp.jerk_mm_s3);
}

/// The greatest v in [low, high] for which grows(v) <= bound; grows is monotone. `low` when there is none.
template <class F> double last_within(double low, double high, double bound, F grows) {
  if (grows(high) <= bound)
    return high;
  return crossing(low, high, [&](double v) { return grows(v) <= bound; }).low;
}

} // namespace

double ramp_time_s(const Ramp& ramp) {
  const double change = std::abs(ramp.v1_mm_s - ramp.v0_mm_s);
  if (change == 0)
    return 0;
  if (ramp.jerk_mm_s3 <= 0)
    return change / ramp.acceleration_mm_s2;
  const double phase = jerk_phase_s(ramp);
  return phase + change / (ramp.jerk_mm_s3 * phase);
}

double ramp_length_mm(const Ramp& ramp) {
  return 0.5 * (ramp.v0_mm_s + ramp.v1_mm_s) * ramp_time_s(ramp);
}

RampPoint ramp_at_time(const Ramp& ramp, double time_s) {
  const double total = ramp_time_s(ramp);
  const double t = std::clamp(time_s, 0.0, total);
  const double sign = ramp.v1_mm_s >= ramp.v0_mm_s ? 1 : -1;
  if (ramp.jerk_mm_s3 <= 0) {
    const double a = sign * ramp.acceleration_mm_s2;
    return {t, ramp.v0_mm_s * t + 0.5 * a * t * t, ramp.v0_mm_s + a * t};
  }
  if (total == 0)
    return {0, 0, ramp.v0_mm_s};
  const double j = sign * ramp.jerk_mm_s3, phase = jerk_phase_s(ramp);
  const auto rising = [&](double s) {
    return RampPoint{s, ramp.v0_mm_s * s + j * s * s * s / 6, ramp.v0_mm_s + 0.5 * j * s * s};
  };
  if (t <= phase)
    return rising(t);
  if (t >= total - phase) {
    const double left = total - t;
    return {t, ramp_length_mm(ramp) - (ramp.v1_mm_s * left - j * left * left * left / 6),
            ramp.v1_mm_s - 0.5 * j * left * left};
  }
  const RampPoint knee = rising(phase);
  const double s = t - phase, a = j * phase;
  return {t, knee.length_mm + knee.speed_mm_s * s + 0.5 * a * s * s, knee.speed_mm_s + a * s};
}

RampPoint ramp_at_length(const Ramp& ramp, double length_mm) {
  const double total = ramp_time_s(ramp);
  const double x = std::clamp(length_mm, 0.0, ramp_length_mm(ramp));
  if (ramp.jerk_mm_s3 <= 0) {
    const double sign = ramp.v1_mm_s >= ramp.v0_mm_s ? 1 : -1;
    const double squared = ramp.v0_mm_s * ramp.v0_mm_s + 2 * sign * ramp.acceleration_mm_s2 * x;
    const double v = std::sqrt(std::max(0.0, squared));
    // x = (v0 + v) t / 2 keeps its digits where v - v0 would lose them.
    const double sum = ramp.v0_mm_s + v;
    return {sum > 0 ? std::min(total, 2 * x / sum) : 0, x, v};
  }
  const double t = last_within(0, total, x, [&](double s) { return ramp_at_time(ramp, s).length_mm; });
  return ramp_at_time(ramp, t);
}

RampPoint ramp_below(const Ramp& ramp, double speed_mm_s) {
  const double low = std::min(ramp.v0_mm_s, ramp.v1_mm_s), high = std::max(ramp.v0_mm_s, ramp.v1_mm_s);
  const double total_s = ramp_time_s(ramp), total_mm = ramp_length_mm(ramp);
  if (speed_mm_s <= low)
    return {};
  if (speed_mm_s > high)
    return {total_s, total_mm, high};
  // Run it upwards: a ramp down is the same in reverse.
  const Ramp up{low, high, ramp.acceleration_mm_s2, ramp.jerk_mm_s3};
  return ramp_at_time(
      up, last_within(0, total_s, speed_mm_s, [&](double t) { return ramp_at_time(up, t).speed_mm_s; }));
}

double reachable_speed_mm_s(double floor_mm_s, double cap_mm_s, double length_mm, double acceleration_mm_s2,
                            double jerk_mm_s3) {
  if (floor_mm_s >= cap_mm_s)
    return cap_mm_s;
  if (jerk_mm_s3 <= 0)
    return std::min(cap_mm_s, std::sqrt(floor_mm_s * floor_mm_s + 2 * acceleration_mm_s2 * length_mm));
  return last_within(floor_mm_s, cap_mm_s, length_mm, [&](double v) {
    return ramp_length_mm({floor_mm_s, v, acceleration_mm_s2, jerk_mm_s3});
  });
}

double peak_speed_mm_s(double v0_mm_s, double v1_mm_s, double cap_mm_s, double length_mm,
                       double acceleration_mm_s2, double jerk_mm_s3) {
  const double least = std::max(v0_mm_s, v1_mm_s);
  if (least >= cap_mm_s)
    return least;
  if (jerk_mm_s3 <= 0) {
    const double v2 = 0.5 * (2 * acceleration_mm_s2 * length_mm + v0_mm_s * v0_mm_s + v1_mm_s * v1_mm_s);
    return std::clamp(std::sqrt(v2), least, cap_mm_s);
  }
  return last_within(least, cap_mm_s, length_mm, [&](double v) {
    return ramp_length_mm({v0_mm_s, v, acceleration_mm_s2, jerk_mm_s3}) +
           ramp_length_mm({v, v1_mm_s, acceleration_mm_s2, jerk_mm_s3});
  });
}

} // namespace snagmap
