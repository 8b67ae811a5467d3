#include "models/mechanics/strand.hpp"

#include "models/base/constants.hpp"
#include "models/base/finite.hpp"

#include <algorithm>

namespace snagmap {

double strip_per_travel(double engaged_rad, double diameter_mm, double chip_per_tooth_mm) {
  require_finite("engaged angle, diameter and feed a tooth", engaged_rad, diameter_mm, chip_per_tooth_mm);
  return chip_per_tooth_mm > 0 ? engaged_rad * diameter_mm / 2 / chip_per_tooth_mm : 0;
}

double exit_gap_mm(double feed_mm_min, double spindle_rpm, double least_mm) {
  require_finite("feed, spindle speed and least gap", feed_mm_min, spindle_rpm, least_mm);
  return spindle_rpm > 0 ? std::max(2 * feed_mm_min / spindle_rpm, least_mm) : least_mm;
}

double neck_room_mm3(double diameter_mm, double neck_diameter_mm, double neck_length_mm) {
  require_finite("diameters and neck length", diameter_mm, neck_diameter_mm, neck_length_mm);
  if (neck_diameter_mm <= 0 || neck_diameter_mm >= diameter_mm)
    return 0;
  return kPi / 4 * (diameter_mm * diameter_mm - neck_diameter_mm * neck_diameter_mm) * neck_length_mm;
}

const char* to_text(StrandRisk risk) {
  switch (risk) {
  case StrandRisk::low:
    return "low";
  case StrandRisk::raised:
    return "raised";
  case StrandRisk::high:
    return "high";
  }
  return "";
}

StrandRisk strand_risk(double engaged_length_mm, bool slot) {
  require_finite("engaged length", engaged_length_mm);
  const double length = slot ? engaged_length_mm / kSlotShortens : engaged_length_mm;
  return length <= 40 ? StrandRisk::low : length <= kLongStrand_mm ? StrandRisk::raised : StrandRisk::high;
}

} // namespace snagmap
