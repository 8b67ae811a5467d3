// Strands: how long a ribbon one stretch of cutting can peel, and where it can go. The definitions are
// proposals, to be set by a coupon.
#pragma once

namespace snagmap {

/// Longest strip peeled for each mm of travel when nothing severs it: every tooth adds an engaged arc.
double strip_per_travel(double engaged_rad, double diameter_mm, double chip_per_tooth_mm);

/// Shortest stretch out of the foam that counts as an exit: two turns of travel, at least `least_mm`.
double exit_gap_mm(double feed_mm_min, double spindle_rpm, double least_mm);

/// Room round the neck within the cutter's diameter, mm3; 0 without a neck.
double neck_room_mm3(double diameter_mm, double neck_diameter_mm, double neck_length_mm);

enum class StrandRisk { low, raised, high };
const char* to_text(StrandRisk risk);
/// By the continuous engaged length: up to 40 mm low, up to `kLongStrand_mm` raised; half of that in a slot,
/// where the tooth leaves at zero thickness and the hinge does not shear.
constexpr double kLongStrand_mm = 150;
constexpr double kSlotShortens = 0.5;
StrandRisk strand_risk(double engaged_length_mm, bool slot);

} // namespace snagmap
