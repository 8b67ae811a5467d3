#include "viz/words/shown.hpp"

#include "models/constants.hpp"
#include "models/snag.hpp"
#include "viz/words/clock.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <regex>

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
std::string Shown::feed(double mm_min) const {
  return inch ? fmt::format("{:.0f} in/min", mm_min / kInch_mm) : fmt::format("{:.0f} mm/min", mm_min);
}

std::string in_units(const std::string& words, const Shown& shown) {
  if (!shown.inch)
    return words;
  static const std::regex quantity("(-?[0-9]+(?:\\.[0-9]+)?(?:(?: x | to | of | -> "
                                   ")-?[0-9]+(?:\\.[0-9]+)?)*) (mm/min|mm2|mm3|cm3|mm|m)(?![a-z/0-9])");
  static const std::regex number("-?[0-9]+(?:\\.[0-9]+)?");
  std::string out;
  auto at = words.begin();
  for (std::sregex_iterator found(words.begin(), words.end(), quantity), end; found != end; ++found) {
    const std::string unit = (*found)[2], numbers = (*found)[1];
    const auto shown_number = [&](double v) {
      if (unit == "mm")
        return shown.number(v);
      if (unit == "mm/min")
        return fmt::format("{:.0f}", v / kInch_mm);
      if (unit == "m")
        return fmt::format("{:.3g}", v / 0.3048);
      return fmt::format("{:.3g}", unit == "mm2"
                                       ? v / (kInch_mm * kInch_mm)
                                       : (unit == "cm3" ? 1000 * v : v) / (kInch_mm * kInch_mm * kInch_mm));
    };
    out.append(at, (*found)[0].first);
    auto from = numbers.begin();
    for (std::sregex_iterator one(numbers.begin(), numbers.end(), number); one != end; ++one) {
      out.append(from, (*one)[0].first);
      out += shown_number(std::stod((*one)[0]));
      from = (*one)[0].second;
    }
    out.append(from, numbers.end());
    out += unit == "mm"       ? " in"
           : unit == "m"      ? " ft"
           : unit == "mm/min" ? " in/min"
           : unit == "mm2"    ? " in2"
                              : " in3";
    at = (*found)[0].second;
  }
  return out.append(at, words.end());
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
