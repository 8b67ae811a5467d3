#include "models/engagement.hpp"

#include "models/constants.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace snagmap {
namespace {

double angle_of(double cosine) {
  return std::acos(std::clamp(cosine, -1.0, 1.0));
}
double square(double x) {
  return x * x;
}

} // namespace

double chip_per_tooth_mm(double feed_mm_min, double spindle_rpm, int flutes) {
  return spindle_rpm > 0 && flutes > 0 ? feed_mm_min / (flutes * spindle_rpm) : 0;
}

double cutting_speed_m_min(double diameter_mm, double spindle_rpm) {
  return kPi * diameter_mm * spindle_rpm / 1000;
}

double engaged_angle_rad(double diameter_mm, double ae_mm) {
  return angle_of(1 - 2 * ae_mm / diameter_mm);
}

double engaged_angle_concave_rad(double diameter_mm, double ae_mm, double wall_mm) {
  const double r = diameter_mm / 2, path = wall_mm - r, before = wall_mm - ae_mm;
  if (path <= 0)
    return ae_mm > 0 ? kPi : 0;
  return angle_of((square(before) - square(path) - square(r)) / (2 * path * r));
}

double engaged_angle_convex_rad(double diameter_mm, double ae_mm, double wall_mm) {
  const double r = diameter_mm / 2, path = wall_mm + r, before = wall_mm + ae_mm;
  return angle_of((square(path) + square(r) - square(before)) / (2 * path * r));
}

double thickest_chip_mm(double chip_per_tooth_mm, double engaged_rad) {
  return engaged_rad >= kPi / 2 ? chip_per_tooth_mm : chip_per_tooth_mm * std::sin(engaged_rad);
}

double mean_chip_mm(double chip_per_tooth_mm, double engaged_rad) {
  return engaged_rad > 0 ? chip_per_tooth_mm * (1 - std::cos(engaged_rad)) / engaged_rad : 0;
}

double teeth_in_cut(int flutes, double engaged_rad) {
  return flutes * engaged_rad / (2 * kPi);
}

double helix_lag_rad(double depth_mm, double helix_rad, double diameter_mm) {
  return 2 * depth_mm * std::tan(std::abs(helix_rad)) / diameter_mm;
}

double steady_depth_mm(double diameter_mm, int flutes, double helix_rad) {
  const double slope = std::tan(std::abs(helix_rad));
  return slope > 0 ? kPi * diameter_mm / (flutes * slope) : std::numeric_limits<double>::infinity();
}

double wall_speed_mm_min(double feed_mm_min, double diameter_mm, double wall_mm, bool concave) {
  const double path = concave ? wall_mm - diameter_mm / 2 : wall_mm + diameter_mm / 2;
  return path > 0 ? feed_mm_min * wall_mm / path : std::numeric_limits<double>::infinity();
}

} // namespace snagmap
