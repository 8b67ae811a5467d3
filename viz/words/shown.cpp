#include "viz/words/shown.hpp"

#include "models/base/constants.hpp"
#include "models/mechanics/snag.hpp"
#include "viz/words/clock.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace snagmap {

std::string Shown::number(double mm) const {
  if (inch)
    return mm != 0 && std::abs(mm) < 0.0005 * kInch_mm ? fmt::format("{:.1g}", mm / kInch_mm)
                                                       : fmt::format("{:.3f}", mm / kInch_mm);
  return std::abs(mm) >= 100  ? fmt::format("{:.0f}", mm)
         : std::abs(mm) >= 10 ? fmt::format("{:.1f}", mm)
                              : fmt::format("{:.2f}", mm);
}
std::string Shown::length(double mm) const {
  return number(mm) + " " + unit();
}
std::string Shown::number(double mm, int digits) const {
  return inch ? number(mm) : fmt::format("{:.{}f}", mm, digits);
}
std::string Shown::length(double mm, int digits) const {
  return number(mm, digits) + " " + unit();
}
std::string Shown::short_number(double mm) const {
  return inch ? number(mm) : fmt::format("{:g}", mm);
}
std::string Shown::exact_number(double mm) const {
  return inch ? number(mm) : fmt::format("{:.10g}", mm);
}
std::string Shown::short_length(double mm) const {
  return short_number(mm) + " " + unit();
}
std::string Shown::rounded_length(double mm) const {
  return inch ? length(mm) : fmt::format("{:.3g} mm", mm);
}
std::string Shown::area(double mm2) const {
  return inch ? fmt::format("{:.3g} in2", mm2 / (kInch_mm * kInch_mm)) : fmt::format("{:.0f} mm2", mm2);
}
std::string Shown::volume(double mm3, int digits) const {
  return inch ? fmt::format("{:.3g} in3", mm3 / (kInch_mm * kInch_mm * kInch_mm))
              : fmt::format("{:.{}f} cm3", 1e-3 * mm3, digits);
}
std::string Shown::small_volume(double mm3) const {
  return inch ? volume(mm3, 0) : fmt::format("{:.0f} mm3", mm3);
}
std::string Shown::metres(double mm) const {
  return inch ? fmt::format("{:.3g} ft", mm / (12 * kInch_mm)) : fmt::format("{:.1f} m", 1e-3 * mm);
}
std::string Shown::feed(double mm_min) const {
  return inch ? fmt::format("{:.0f} in/min", mm_min / kInch_mm) : fmt::format("{:.0f} mm/min", mm_min);
}

std::string source_words(const Banded& value) {
  return value.source + (value.guess && value.source.find("guess") == std::string::npos ? " (a guess)" : "");
}

std::string band_text(double value, double low, double high) {
  if (low > 100)
    return snag_text(low); // "> 100" once says it
  return fmt::format("{} ({} to {})", snag_text(value), snag_text(low), snag_text(high));
}

std::string clock_text(double seconds) {
  const long whole = std::lround(std::max(0.0, seconds));
  if (whole < 3600)
    return fmt::format("{}:{:02}", whole / 60, whole % 60);
  return fmt::format("{}:{:02}:{:02}", whole / 3600, whole / 60 % 60, whole % 60);
}

std::string time_text(double seconds) {
  if (seconds < 60)
    return fmt::format("{:.1f} s", seconds);
  return clock_text(seconds) + (std::lround(seconds) < 3600 ? " min" : " h");
}

double round_step(double span, int most) {
  const double rough = std::max(span, 1e-9) / std::max(most, 1);
  const double power = std::pow(10, std::floor(std::log10(rough)));
  for (const double f : {1.0, 2.0, 5.0})
    if (f * power >= rough * (1 - 1e-9))
      return f * power;
  return 10 * power;
}

std::string tick_text(double value, double step) {
  const int digits = std::clamp(static_cast<int>(std::ceil(-std::log10(step) - 1e-9)), 0, 6);
  if (std::abs(value) < step / 1000)
    value = 0;
  return fmt::format("{:.{}f}", value, digits);
}

} // namespace snagmap
