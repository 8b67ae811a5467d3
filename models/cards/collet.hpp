// Shank and collet: does the shank fit, is enough of it clamped, does the cutter whirl.
#pragma once

#include <optional>
#include <string>
#include <vector>

namespace snagmap {

/// A collet series of ISO 15488 (ER, 8 degrees). Closing ranges and ER8: common practice, no source.
struct ColletSeries {
  const char* name;
  const char* nut_thread;
  double largest_shank_mm;
};
const std::vector<ColletSeries>& collet_series();
/// The series of that name, or the one nearest in name.
const ColletSeries& nearest_series(const std::string& name);
/// How far a collet of this series and bore closes, mm; nothing when the series is not known or has no such
/// bore.
std::optional<double> closing_range_mm(const std::string& series, double bore_mm);

enum class Fit { ok, closes_some, closes_much, shank_too_large, shank_too_small };
const char* to_text(Fit fit);
inline bool refused(Fit fit) {
  return fit == Fit::shank_too_large || fit == Fit::shank_too_small;
}

/// A collet only closes: its bore is its largest shank. `range_mm` is what it closes by. Sizes count as equal
/// within 0.01 mm (shanks are made to h6). Closing costs grip and true running: over a fifth of the range is
/// worth a warning, over three quarters a strong one (proposals, no source).
Fit collet_fit(double shank_mm, double bore_mm, double range_mm);
/// Whether the shank is too large for the collet, whatever its range: none opens.
bool too_large(double shank_mm, double bore_mm);

enum class Hold { good, short_of_advice, too_short };
const char* to_text(Hold hold);
/// At least two thirds of the collet's length must hold the shank, better four fifths.
Hold clamp_hold(double clamped_mm, double collet_length_mm);

/// First whirling speed of a round steel cantilever, rpm: d is the thinnest of shank, neck or core.
double critical_speed_rpm(double diameter_mm, double stick_out_mm);

enum class Whirl { clear, near, refuse };
const char* to_text(Whirl whirl);
/// Near from half the critical speed, refused from three quarters (proposals, no source).
Whirl whirl_of(double spindle_rpm, double critical_rpm);

} // namespace snagmap
