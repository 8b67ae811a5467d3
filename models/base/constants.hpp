// Numbers that are the same everywhere.
#pragma once

namespace snagmap {

constexpr double kPi = 3.14159265358979323846;
constexpr double kRadPerDeg = 0.017453292519943295769;
constexpr double kInch_mm = 25.4;         // exact by definition (1959)
constexpr double kGravity_m_s2 = 9.80665; // standard (CGPM 1901)

} // namespace snagmap
