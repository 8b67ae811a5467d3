#include "models/cards/collet.hpp"

#include "models/base/constants.hpp"
#include "models/base/finite.hpp"
#include "models/base/quantity.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

constexpr double kSteel_MPa = 200000, kSteel_kg_m3 = 7850; // handbook
constexpr double kSame = 0.01;                             // mm

} // namespace

const std::vector<ColletSeries>& collet_series() {
  static const std::vector<ColletSeries> series{
      {"ER8", "", 5},          {"ER11", "M14x0.75", 7}, {"ER16", "M22x1.5", 10}, {"ER20", "M25x1.5", 13},
      {"ER25", "M32x1.5", 16}, {"ER32", "M40x1.5", 20}, {"ER40", "M50x1.5", 26}};
  return series;
}

const ColletSeries& nearest_series(const std::string& name) {
  const std::vector<ColletSeries>& all = collet_series();
  return *std::min_element(all.begin(), all.end(), [&](const ColletSeries& a, const ColletSeries& b) {
    return edit_distance(name, a.name) < edit_distance(name, b.name);
  });
}

std::optional<double> closing_range_mm(const std::string& name, double bore_mm) {
  require_finite("collet bore", bore_mm);
  const ColletSeries& series = nearest_series(name);
  if (name != series.name || bore_mm > series.largest_shank_mm + kSame)
    return {};
  if (series.largest_shank_mm <= 7)
    return 0.5; // ER8, ER11: sources disagree above 3 mm, the smaller value is taken
  if (series.largest_shank_mm <= 16 && bore_mm <= 3)
    return 0.5;
  return 1.0;
}

const char* to_text(Fit fit) {
  switch (fit) {
  case Fit::ok:
    return "fits";
  case Fit::closes_some:
    return "in range, away from its nominal size";
  case Fit::closes_much:
    return "in range, near its end";
  case Fit::shank_too_large:
    return "shank larger than the collet: never force it";
  case Fit::shank_too_small:
    return "shank smaller than the collet closes to";
  }
  return "";
}

bool too_large(double shank_mm, double bore_mm) {
  require_finite("shank and bore", shank_mm, bore_mm);
  return bore_mm - shank_mm < -kSame;
}

Fit collet_fit(double shank_mm, double bore_mm, double range_mm) {
  require_finite("shank, bore and range", shank_mm, bore_mm, range_mm);
  const double closes = bore_mm - shank_mm;
  if (too_large(shank_mm, bore_mm))
    return Fit::shank_too_large;
  if (closes > range_mm + kSame)
    return Fit::shank_too_small;
  if (closes > 0.75 * range_mm)
    return Fit::closes_much;
  if (closes > 0.2 * range_mm)
    return Fit::closes_some;
  return Fit::ok;
}

const char* to_text(Hold hold) {
  switch (hold) {
  case Hold::good:
    return "enough is clamped";
  case Hold::short_of_advice:
    return "under four fifths of the collet is filled";
  case Hold::too_short:
    return "under two thirds of the collet is filled";
  }
  return "";
}

Hold clamp_hold(double clamped_mm, double collet_length_mm) {
  require_finite("clamped length and collet length", clamped_mm, collet_length_mm);
  if (3 * clamped_mm < 2 * collet_length_mm)
    return Hold::too_short;
  return 5 * clamped_mm < 4 * collet_length_mm ? Hold::short_of_advice : Hold::good;
}

double critical_speed_rpm(double diameter_mm, double stick_out_mm) {
  require_finite("diameter and stick-out", diameter_mm, stick_out_mm);
  const double wave_mm_s = std::sqrt(kSteel_MPa * 1e6 / kSteel_kg_m3) * 1000; // bar wave speed
  const double root = 1.87510407;                                             // first root of the cantilever
  return 60 / (2 * kPi) * root * root * wave_mm_s * (diameter_mm / 4) / (stick_out_mm * stick_out_mm);
}

const char* to_text(Whirl whirl) {
  switch (whirl) {
  case Whirl::clear:
    return "clear of the critical speed";
  case Whirl::near:
    return "over half the critical speed";
  case Whirl::refuse:
    return "over three quarters of the critical speed";
  }
  return "";
}

Whirl whirl_of(double spindle_rpm, double critical_rpm) {
  const double share = spindle_rpm / critical_rpm;
  return share > 0.75 ? Whirl::refuse : share > 0.5 ? Whirl::near : Whirl::clear;
}

} // namespace snagmap
