#include "viz/shown.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace snagmap {

std::string Shown::number(double mm) const {
  if (inch) return fmt::format("{:.3f}", mm / 25.4);
  return std::abs(mm) >= 100 ? fmt::format("{:.0f}", mm) : std::abs(mm) >= 10 ? fmt::format("{:.1f}", mm) : fmt::format("{:.2f}", mm);
}
std::string Shown::length(double mm) const { return number(mm) + " " + unit(); }
std::string Shown::feed(double mm_min) const {
  return inch ? fmt::format("{:.0f} in/min", mm_min / 25.4) : fmt::format("{:.0f} mm/min", mm_min);
}

std::string band_text(double value, double low, double high) {
  return fmt::format("{:.2f} ({:.2f} to {:.2f})", value, low, high);
}

std::string time_text(double seconds) {
  if (seconds < 60) return fmt::format("{:.1f} s", seconds);
  const auto whole = static_cast<long>(seconds + 0.5);
  if (whole < 3600) return fmt::format("{}:{:02} min", whole / 60, whole % 60);
  return fmt::format("{}:{:02}:{:02} h", whole / 3600, whole / 60 % 60, whole % 60);
}

double round_step(double span, int most) {
  const double rough = std::max(span, 1e-9) / std::max(most, 1);
  const double power = std::pow(10, std::floor(std::log10(rough)));
  for (const double f : {1.0, 2.0, 5.0})
    if (f * power >= rough * (1 - 1e-9)) return f * power;
  return 10 * power;
}

std::string tick_text(double value, double step) {
  const int digits = std::clamp(static_cast<int>(std::ceil(-std::log10(step) - 1e-9)), 0, 6);
  if (std::abs(value) < step / 1000) value = 0;
  return fmt::format("{:.{}f}", value, digits);
}

} // namespace snagmap
