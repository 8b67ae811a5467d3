#include "models/mechanics/engagement.hpp"

#include "models/base/constants.hpp"
#include "models/base/finite.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

double angle_of(double cosine) {
  return std::acos(std::clamp(cosine, -1.0, 1.0));
}

} // namespace

double chip_per_tooth_mm(double feed_mm_min, double spindle_rpm, int flutes) {
  require_finite("feed and spindle speed", feed_mm_min, spindle_rpm);
  return spindle_rpm > 0 && flutes > 0 ? feed_mm_min / (flutes * spindle_rpm) : 0;
}

double engaged_angle_rad(double diameter_mm, double ae_mm) {
  require_finite("diameter and width of cut", diameter_mm, ae_mm);
  return angle_of(1 - 2 * ae_mm / diameter_mm);
}

double mean_chip_mm(double chip_per_tooth_mm, double engaged_rad) {
  require_finite("feed a tooth and engaged angle", chip_per_tooth_mm, engaged_rad);
  return engaged_rad > 0 ? chip_per_tooth_mm * (1 - std::cos(engaged_rad)) / engaged_rad : 0;
}

double teeth_in_cut(int flutes, double engaged_rad) {
  require_finite("engaged angle", engaged_rad);
  return flutes * engaged_rad / (2 * kPi);
}

} // namespace snagmap
