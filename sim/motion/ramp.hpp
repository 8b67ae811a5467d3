// A ramp: one change of speed along a move, at constant acceleration or as a jerk-limited S.
#pragma once

namespace snagmap {

/// From speed v0 to v1 (mm/s). Without a jerk limit the acceleration is constant. With one, it rises from
/// zero at `jerk`, holds at most `acceleration`, and falls back to zero by the end: each ramp begins and ends
/// unaccelerated.
struct Ramp {
  double v0_mm_s = 0, v1_mm_s = 0;
  double acceleration_mm_s2 = 0;
  double jerk_mm_s3 = 0; ///< 0: no limit
};

struct RampPoint {
  double time_s = 0, length_mm = 0, speed_mm_s = 0;
};

double ramp_time_s(const Ramp& ramp);
/// The mean speed is (v0 + v1) / 2 in both forms, because the S is symmetric about its middle.
double ramp_length_mm(const Ramp& ramp);
RampPoint ramp_at_time(const Ramp& ramp, double time_s);
RampPoint ramp_at_length(const Ramp& ramp, double length_mm);

/// The part of the ramp that is run slower than a speed: its length and time.
RampPoint ramp_below(const Ramp& ramp, double speed_mm_s);

/// The greatest speed, at most `cap`, from which `floor` can be reached within the length (or the other way
/// round).
double reachable_speed_mm_s(double floor_mm_s, double cap_mm_s, double length_mm, double acceleration_mm_s2,
                            double jerk_mm_s3);
/// The greatest speed, at most `cap`, that a move of this length may touch between its two ends.
double peak_speed_mm_s(double v0_mm_s, double v1_mm_s, double cap_mm_s, double length_mm,
                       double acceleration_mm_s2, double jerk_mm_s3);

} // namespace snagmap
