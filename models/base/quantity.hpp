// Numbers with units: every quantity a user writes is a string such as "12 mm" or "120 in/min".
#pragma once

#include "models/base/fault.hpp"

#include <string>
#include <string_view>

namespace snagmap {

/// What a number measures. The program's base unit of each stands beside it.
enum class Dimension {
  length,         ///< mm
  area,           ///< mm2
  volume,         ///< mm3
  speed,          ///< mm/min
  acceleration,   ///< mm/s2
  jerk,           ///< mm/s3
  pressure,       ///< kPa (moduli and strengths too)
  density,        ///< kg/m3
  line_force,     ///< N/mm: peel, tear and fracture energy (1 N/mm = 1 kJ/m2)
  energy_density, ///< MJ/m3
  rotation,       ///< rpm
  angle,          ///< deg
  time,           ///< s
  force,          ///< N
  mass,           ///< g
  share,          ///< 1 (a part of the whole: "25 %" is 0.25)
};

/// "a length", "a pressure" ...: fits into "expected ...".
const char* to_text(Dimension dimension);
const char* base_unit(Dimension dimension);

/// Reads a number and a unit of the stated dimension into the base unit. The same in every locale.
/// Refuses bare numbers, not-a-number and infinity, other dimensions and unknown units (naming the nearest);
/// the fault has no place, the caller adds it. Signs are allowed, ranges are the caller's business.
Outcome<double> parse_quantity(std::string_view text, Dimension dimension);

/// The value as people read it, with its unit: "12.50 mm", "0.492 in". `inch` changes lengths, areas,
/// volumes, speeds and accelerations only; "-" for values that are not finite.
std::string show(double value, Dimension dimension, bool inch);
/// The number of `show` without text, for axes and table columns, and its unit.
double shown_value(double value, Dimension dimension, bool inch);
const char* shown_unit(Dimension dimension, bool inch);

/// Edits between two words (insert, delete, change, swap of neighbours), ignoring case.
int edit_distance(std::string_view a, std::string_view b);

} // namespace snagmap
