#include "models/base/quantity.hpp"

#include "models/base/constants.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <fmt/format.h>
#include <iterator>
#include <vector>

namespace snagmap {
namespace {

using D = Dimension;
constexpr double kPound = 0.45359237; // kg, exact by definition (1959)
constexpr double kPoundForce = kPound * kGravity_m_s2;
constexpr double kDegPerRad = 57.295779513082320876;

struct Unit {
  D dimension;
  const char* name;
  double to_base;
};

// The first unit of a dimension is its base unit. Inch-pound factors follow NIST SP 811 from the definitions
// above.
const Unit kUnits[] = {
    {D::length, "mm", 1},
    {D::length, "cm", 10},
    {D::length, "m", 1000},
    {D::length, "um", 0.001},
    {D::length, "in", kInch_mm},
    {D::length, "inch", kInch_mm},
    {D::length, "ft", 12 * kInch_mm},
    {D::area, "mm2", 1},
    {D::area, "cm2", 100},
    {D::area, "m2", 1e6},
    {D::area, "in2", kInch_mm* kInch_mm},
    {D::volume, "mm3", 1},
    {D::volume, "cm3", 1000},
    {D::volume, "l", 1e6},
    {D::volume, "in3", kInch_mm* kInch_mm* kInch_mm},
    {D::speed, "mm/min", 1},
    {D::speed, "mm/s", 60},
    {D::speed, "m/min", 1000},
    {D::speed, "m/s", 60000},
    {D::speed, "in/min", kInch_mm},
    {D::speed, "in/s", 60 * kInch_mm},
    {D::speed, "ft/min", 12 * kInch_mm},
    {D::acceleration, "mm/s2", 1},
    {D::acceleration, "m/s2", 1000},
    {D::acceleration, "in/s2", kInch_mm},
    {D::jerk, "mm/s3", 1},
    {D::jerk, "m/s3", 1000},
    {D::jerk, "in/s3", kInch_mm},
    {D::pressure, "kPa", 1},
    {D::pressure, "Pa", 0.001},
    {D::pressure, "MPa", 1000},
    {D::pressure, "GPa", 1e6},
    {D::pressure, "N/mm2", 1000},
    {D::pressure, "N/m2", 0.001},
    {D::pressure, "bar", 100},
    {D::pressure, "mbar", 0.1},
    {D::pressure, "psi", kPoundForce / (kInch_mm * kInch_mm) * 1000},
    {D::density, "kg/m3", 1},
    {D::density, "g/cm3", 1000},
    {D::density, "g/l", 1},
    {D::density, "lb/ft3", kPound / (0.3048 * 0.3048 * 0.3048)},
    {D::line_force, "N/mm", 1},
    {D::line_force, "N/cm", 0.1},
    {D::line_force, "N/m", 0.001},
    {D::line_force, "kN/m", 1},
    {D::line_force, "N/25mm", 0.04},
    {D::line_force, "J/m2", 0.001},
    {D::line_force, "kJ/m2", 1},
    {D::line_force, "lbf/in", kPoundForce / kInch_mm},
    {D::line_force, "lb/in", kPoundForce / kInch_mm},
    {D::line_force, "ozf/in", kPoundForce / 16 / kInch_mm},
    {D::line_force, "oz/in", kPoundForce / 16 / kInch_mm},
    {D::energy_density, "MJ/m3", 1},
    {D::energy_density, "kJ/m3", 0.001},
    {D::energy_density, "J/cm3", 1},
    {D::energy_density, "N/mm2", 1},
    {D::rotation, "rpm", 1},
    {D::rotation, "rev/min", 1},
    {D::rotation, "1/min", 1},
    {D::rotation, "rev/s", 60},
    {D::angle, "deg", 1},
    {D::angle, "\xC2\xB0", 1},
    {D::angle, "rad", kDegPerRad},
    {D::time, "s", 1},
    {D::time, "ms", 0.001},
    {D::time, "min", 60},
    {D::time, "h", 3600},
    {D::force, "N", 1},
    {D::force, "mN", 0.001},
    {D::force, "kN", 1000},
    {D::force, "lbf", kPoundForce},
    {D::force, "ozf", kPoundForce / 16},
    {D::force, "kgf", kGravity_m_s2},
    {D::force, "gf", kGravity_m_s2 / 1000},
    {D::mass, "g", 1},
    {D::mass, "kg", 1000},
    {D::mass, "mg", 0.001},
    {D::mass, "lb", kPound * 1000},
    {D::mass, "oz", kPound * 1000 / 16},
    {D::share, "1", 1},
    {D::share, "%", 0.01},
};

struct Shown {
  D dimension;
  const char* metric;
  int metric_digits;
  const char* inch;
  int inch_digits;
};
const Shown kShown[] = {
    {D::length, "mm", 2, "in", 3},
    {D::area, "mm2", 0, "in2", 2},
    {D::volume, "cm3", 1, "in3", 2},
    {D::speed, "mm/min", 0, "in/min", 1},
    {D::acceleration, "mm/s2", 0, "in/s2", 1},
    {D::jerk, "mm/s3", 0, "in/s3", 0},
    {D::pressure, "kPa", 1, "kPa", 1},
    {D::density, "kg/m3", 1, "kg/m3", 1},
    {D::line_force, "N/mm", 3, "N/mm", 3},
    {D::energy_density, "MJ/m3", 2, "MJ/m3", 2},
    {D::rotation, "rpm", 0, "rpm", 0},
    {D::angle, "deg", 1, "deg", 1},
    {D::time, "s", 1, "s", 1},
    {D::force, "N", 2, "N", 2},
    {D::mass, "g", 1, "g", 1},
    {D::share, "%", 1, "%", 1},
};

const Unit* find_unit(D dimension, std::string_view name) {
  for (const Unit& unit : kUnits)
    if (unit.dimension == dimension && name == unit.name)
      return &unit;
  return nullptr;
}

const Shown& shown(D dimension) {
  for (const Shown& row : kShown)
    if (row.dimension == dimension)
      return row;
  return kShown[0];
}

bool replace_prefix(std::string_view& text, std::string_view prefix) {
  if (text.substr(0, prefix.size()) != prefix)
    return false;
  text.remove_prefix(prefix.size());
  return true;
}

/// One spelling for each unit: no blanks or carets, plain digits for raised ones, u for micro.
std::string plain_unit(std::string_view text) {
  std::string plain;
  while (!text.empty()) {
    if (replace_prefix(text, " ") || replace_prefix(text, "\t") || replace_prefix(text, "^"))
      continue;
    if (replace_prefix(text, "\xC2\xB2"))
      plain += '2';
    else if (replace_prefix(text, "\xC2\xB3"))
      plain += '3';
    else if (replace_prefix(text, "\xC2\xB5") || replace_prefix(text, "\xCE\xBC"))
      plain += 'u';
    else
      plain += text.front(), text.remove_prefix(1);
  }
  return plain;
}

std::string unit_list(D dimension) {
  std::string list;
  for (const Unit& unit : kUnits)
    if (unit.dimension == dimension && std::string_view(unit.name) != "1")
      list += (list.empty() ? "" : ", ") + std::string(unit.name);
  return list;
}

std::string nearest_unit(D dimension, std::string_view name) {
  const Unit* best = nullptr;
  int least = 0;
  for (const Unit& unit : kUnits) {
    if (unit.dimension != dimension || std::string_view(unit.name) == "1")
      continue;
    const int edits = edit_distance(name, unit.name);
    if (!best || edits < least)
      best = &unit, least = edits;
  }
  return best->name;
}

/// The text as it may be printed: bounded, control characters replaced.
std::string quoted(std::string_view text) {
  std::string out = "\"";
  for (char c : text.substr(0, 40))
    out += static_cast<unsigned char>(c) < 32 || c == 127 ? '?' : c;
  return out + (text.size() > 40 ? "...\"" : "\"");
}

std::string example(D dimension) {
  switch (dimension) {
  case D::length:
    return "12 mm";
  case D::area:
    return "600 cm2";
  case D::volume:
    return "30 cm3";
  case D::speed:
    return "3000 mm/min";
  case D::acceleration:
    return "500 mm/s2";
  case D::jerk:
    return "20000 mm/s3";
  case D::pressure:
    return "30 kPa";
  case D::density:
    return "22 kg/m3";
  case D::line_force:
    return "0.1 N/mm";
  case D::energy_density:
    return "0.5 MJ/m3";
  case D::rotation:
    return "18000 rpm";
  case D::angle:
    return "30 deg";
  case D::time:
    return "3 s";
  case D::force:
    return "0.5 N";
  case D::mass:
    return "10 g";
  case D::share:
    return "60 %";
  }
  return "";
}

Fault refuse(D dimension, std::string what) {
  Fault fault;
  fault.what = std::move(what);
  fault.way_out = fmt::format("write {} as a number and a unit, such as \"{}\" (units: {})",
                              to_text(dimension), example(dimension), unit_list(dimension));
  return fault;
}

} // namespace

const char* to_text(Dimension dimension) {
  switch (dimension) {
  case D::length:
    return "a length";
  case D::area:
    return "an area";
  case D::volume:
    return "a volume";
  case D::speed:
    return "a speed";
  case D::acceleration:
    return "an acceleration";
  case D::jerk:
    return "a jerk";
  case D::pressure:
    return "a pressure or modulus";
  case D::density:
    return "a density";
  case D::line_force:
    return "a force per length";
  case D::energy_density:
    return "an energy per volume";
  case D::rotation:
    return "a rotational speed";
  case D::angle:
    return "an angle";
  case D::time:
    return "a time";
  case D::force:
    return "a force";
  case D::mass:
    return "a mass";
  case D::share:
    return "a share";
  }
  return "";
}

const char* base_unit(Dimension dimension) {
  for (const Unit& unit : kUnits)
    if (unit.dimension == dimension)
      return unit.name;
  return "";
}

Outcome<double> parse_quantity(std::string_view text, Dimension dimension) {
  const std::string_view blanks = " \t";
  std::string_view rest = text;
  rest.remove_prefix(std::min(rest.find_first_not_of(blanks), rest.size()));
  rest = rest.substr(0, rest.find_last_not_of(blanks) + 1);
  if (rest.empty())
    return refuse(dimension, fmt::format("empty text where {} belongs", to_text(dimension)));

  std::string_view digits = rest;
  if (digits.front() == '+' && digits.size() > 1 && digits[1] != '-')
    digits.remove_prefix(1);
  double number = 0;
  const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), number);
  if (error == std::errc::invalid_argument)
    return refuse(dimension, fmt::format("{} does not begin with a number", quoted(rest)));
  if (error == std::errc::result_out_of_range || !std::isfinite(number))
    return refuse(dimension, fmt::format("{} is not a finite number the program can hold", quoted(rest)));

  const std::string_view written(end, static_cast<std::size_t>(digits.data() + digits.size() - end));
  const std::string name = plain_unit(written);
  if (name.empty())
    return refuse(dimension, fmt::format("{} has no unit", quoted(rest)));
  if (name.front() == ',')
    return refuse(dimension, fmt::format("{}: write a decimal point, not a comma", quoted(rest)));
  const Unit* unit = name == "1" ? nullptr : find_unit(dimension, name);
  if (!unit) {
    for (const Unit& other : kUnits)
      if (name == other.name && name != "1")
        return refuse(dimension, fmt::format("{} is {}; expected {}", quoted(rest), to_text(other.dimension),
                                             to_text(dimension)));
    return refuse(dimension, fmt::format("{}: unknown unit {}; the nearest for {} is \"{}\"", quoted(rest),
                                         quoted(name), to_text(dimension), nearest_unit(dimension, name)));
  }
  const double value = number * unit->to_base;
  if (!std::isfinite(value))
    return refuse(dimension, fmt::format("{} is not a finite number the program can hold", quoted(rest)));
  return value;
}

double shown_value(double value, Dimension dimension, bool inch) {
  return value / find_unit(dimension, shown_unit(dimension, inch))->to_base;
}

const char* shown_unit(Dimension dimension, bool inch) {
  return inch ? shown(dimension).inch : shown(dimension).metric;
}

std::string show(double value, Dimension dimension, bool inch) {
  if (!std::isfinite(value))
    return "-";
  const Shown& row = shown(dimension);
  double number = shown_value(value, dimension, inch);
  const int digits = inch ? row.inch_digits : row.metric_digits;
  if (std::abs(number) < 0.5 * std::pow(10.0, -digits))
    number = 0; // never "-0.00"
  return fmt::format("{:.{}f} {}", number, digits, shown_unit(dimension, inch));
}

int edit_distance(std::string_view a, std::string_view b) {
  const auto lower = [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; };
  a = a.substr(0, 64), b = b.substr(0, 64); // bounded cost on hostile input
  std::vector<std::vector<int>> d(a.size() + 1, std::vector<int>(b.size() + 1));
  for (std::size_t i = 0; i <= a.size(); ++i) {
    for (std::size_t j = 0; j <= b.size(); ++j) {
      if (i == 0 || j == 0) {
        d[i][j] = static_cast<int>(i + j);
        continue;
      }
      const bool same = lower(a[i - 1]) == lower(b[j - 1]);
      d[i][j] = std::min({d[i - 1][j] + 1, d[i][j - 1] + 1, d[i - 1][j - 1] + (same ? 0 : 1)});
      if (i > 1 && j > 1 && lower(a[i - 1]) == lower(b[j - 2]) && lower(a[i - 2]) == lower(b[j - 1]))
        d[i][j] = std::min(d[i][j], d[i - 2][j - 2] + 1);
    }
  }
  return d[a.size()][b.size()];
}

} // namespace snagmap
