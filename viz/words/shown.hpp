// Numbers as the user reads them: millimetres or inches as the scene says. Files stay in millimetres.
#pragma once

#include "models/base/constants.hpp"
#include "models/cards/banded.hpp"

#include <string>

namespace snagmap {

struct Shown {
  bool inch = false;
  const char* unit() const { return inch ? "in" : "mm"; }
  double unit_mm() const { return inch ? kInch_mm : 1; }
  double of(double mm) const { return mm / unit_mm(); }
  /// "6.35 mm", "0.250 in"
  std::string length(double mm) const;
  /// Without the unit.
  std::string number(double mm) const;
  /// The same with so many digits in millimetres; inches have three.
  std::string length(double mm, int digits) const;
  std::string number(double mm, int digits) const;
  /// Without needless digits in millimetres: "0.5 mm".
  std::string short_length(double mm) const;
  std::string short_number(double mm) const;
  std::string exact_number(double mm) const;   ///< ten digits in millimetres, as programs say them
  std::string rounded_length(double mm) const; ///< to three digits: "12.7 mm"
  std::string area(double mm2) const;          ///< "36 mm2", "0.0558 in2"
  /// "2.50 cm3", "0.153 in3"
  std::string volume(double mm3, int digits) const;
  std::string small_volume(double mm3) const; ///< "100 mm3"
  std::string metres(double mm) const;        ///< "11.6 m", "38.1 ft"
  /// "3000 mm/min", "118 in/min"
  std::string feed(double mm_min) const;
};

/// Where a value comes from, and that it is a guess where the source does not say so itself.
std::string source_words(const Banded& value);
/// Snag number with its band: "1.25 (0.90 to 1.72)".
std::string band_text(double value, double low, double high);
/// Program time: "42.1 s", "3:07 min", "1:02:10 h".
std::string time_text(double seconds);
/// Round steps for an axis: the smallest of 1, 2, 5 x 10^n that gives at most `most` steps over a span.
double round_step(double span, int most);
/// A step's multiple without needless digits.
std::string tick_text(double value, double step);

} // namespace snagmap
