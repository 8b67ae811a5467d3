// Milling geometry: how much of the edge is in the cut, and how thick the chip is. Textbook formulas
// (Altintas, Manufacturing Automation; Machinery's Handbook). Pure functions; lengths mm, speeds mm/min,
// angles rad.
#pragma once

namespace snagmap {

/// Feed for each tooth.
double chip_per_tooth_mm(double feed_mm_min, double spindle_rpm, int flutes);

/// Angle over which a tooth is in the cut, 0..pi, for radial width `ae_mm` on a straight wall.
double engaged_angle_rad(double diameter_mm, double ae_mm);

/// Mean chip over the engaged angle, fz (1 - cos phi)/phi; 0 when nothing is engaged.
double mean_chip_mm(double chip_per_tooth_mm, double engaged_rad);
/// Teeth in the cut on average.
double teeth_in_cut(int flutes, double engaged_rad);

} // namespace snagmap
