// Milling geometry: how much of the edge is in the cut, and how thick the chip is. Textbook formulas
// (Altintas, Manufacturing Automation; Machinery's Handbook). Pure functions; lengths mm, speeds mm/min,
// angles rad.
#pragma once

namespace snagmap {

/// Feed for each tooth.
double chip_per_tooth_mm(double feed_mm_min, double spindle_rpm, int flutes);
/// Cutting speed at the edge, m/min (the unit of the trade).
double cutting_speed_m_min(double diameter_mm, double spindle_rpm);

/// Angle over which a tooth is in the cut, 0..pi, for radial width `ae_mm` on a straight wall.
double engaged_angle_rad(double diameter_mm, double ae_mm);
/// The same inside a round wall of radius wall_mm (the cutter runs inside it); pi when it fills the wall.
double engaged_angle_concave_rad(double diameter_mm, double ae_mm, double wall_mm);
/// The same outside a round wall of radius wall_mm.
double engaged_angle_convex_rad(double diameter_mm, double ae_mm, double wall_mm);

/// Thickest chip over an engaged angle: fz sin(phi), and fz from a quarter turn on.
double thickest_chip_mm(double chip_per_tooth_mm, double engaged_rad);
/// Mean chip over the engaged angle, fz (1 - cos phi)/phi; 0 when nothing is engaged.
double mean_chip_mm(double chip_per_tooth_mm, double engaged_rad);
/// Teeth in the cut on average.
double teeth_in_cut(int flutes, double engaged_rad);

/// Angle by which the edge lags from tip to `depth_mm`, rad.
double helix_lag_rad(double depth_mm, double helix_rad, double diameter_mm);
/// Least depth at which the force is steady: one edge enters as the other leaves. Infinite without helix.
double steady_depth_mm(double diameter_mm, int flutes, double helix_rad);

/// Speed of the contact along a round wall when the centre runs at feed; inside walls speed up, outside slow
/// down.
double wall_speed_mm_min(double feed_mm_min, double diameter_mm, double wall_mm, bool concave);

} // namespace snagmap
