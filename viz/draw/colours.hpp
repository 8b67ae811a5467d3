// Colours that carry meaning, the same in every view: one sequential map and one alarm colour.
#pragma once

#include "models/mechanics/snag.hpp"

#include <cstdint>
#include <string>

namespace snagmap {

struct Colour {
  std::uint8_t r = 0, g = 0, b = 0, a = 255;
};
inline bool operator==(Colour p, Colour q) {
  return p.r == q.r && p.g == q.g && p.b == q.b && p.a == q.a;
}

/// "#rrggbb"
std::string to_hex(Colour colour);
/// Reads "#rgb" or "#rrggbb"; fallback otherwise.
Colour colour_from_hex(const std::string& text, Colour fallback);

/// Contrast ratio of WCAG 2.1 (1 to 21), from the relative luminances of sRGB.
double contrast(Colour p, Colour q);

/// Cividis, dark blue (0) to yellow (1): lightness rises evenly and the order survives every common form of
/// colour blindness. Nuñez, Anderton, Renslow 2018, PLoS ONE 13(7) e0199239. Clamped to 0..1.
Colour cividis(double share);

constexpr Colour kAlarm{213, 50, 20};   ///< snags, tears and what stops the job: nothing else has this colour
constexpr Colour kFoam{206, 211, 217};  ///< foam nothing was found about
constexpr Colour kInk{28, 32, 38};      ///< text and lines
constexpr Colour kPale{98, 106, 116};   ///< secondary text and lines: 5.4 to 1 on white
constexpr Colour kFlutes{30, 106, 138}; ///< cutting part of a cutter
constexpr Colour kNeck{150, 158, 168};
constexpr Colour kShank{110, 118, 128};
constexpr Colour kNut{74, 80, 90};

/// firm, leans: from the map; snags, tears: the alarm colour.
Colour level_colour(Level level);
/// Snag number: the map over 0..1, the alarm colour from 1 on.
Colour snag_colour(double s);

} // namespace snagmap
