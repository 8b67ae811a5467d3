#include "viz/draw/colours.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace snagmap {

std::string to_hex(Colour colour) {
  char text[8];
  std::snprintf(text, sizeof text, "#%02x%02x%02x", colour.r, colour.g, colour.b);
  return text;
}

Colour colour_from_hex(const std::string& text, Colour fallback) {
  unsigned r = 0, g = 0, b = 0;
  char end = 0;
  if (text.size() == 7 && std::sscanf(text.c_str(), "#%2x%2x%2x%c", &r, &g, &b, &end) == 3)
    return {static_cast<std::uint8_t>(r), static_cast<std::uint8_t>(g), static_cast<std::uint8_t>(b)};
  if (text.size() == 4 && std::sscanf(text.c_str(), "#%1x%1x%1x%c", &r, &g, &b, &end) == 3)
    return {static_cast<std::uint8_t>(17 * r), static_cast<std::uint8_t>(17 * g),
            static_cast<std::uint8_t>(17 * b)};
  return fallback;
}

double contrast(Colour p, Colour q) {
  const auto luminance = [](Colour c) {
    const auto linear = [](std::uint8_t byte) {
      const double v = byte / 255.0;
      return v <= 0.03928 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4);
    };
    return 0.2126 * linear(c.r) + 0.7152 * linear(c.g) + 0.0722 * linear(c.b);
  };
  const double a = luminance(p), b = luminance(q);
  return (std::max(a, b) + 0.05) / (std::min(a, b) + 0.05);
}

Colour cividis(double share) {
  // Polynomial fit to the published table, each channel within 3/255 of it (from memory).
  const double t = std::clamp(share, 0.0, 1.0);
  const double r = -4.54 - t * (35.34 - t * (2381.73 - t * (6402.7 - t * (7024.72 - t * 2710.57))));
  const double g = 32.49 + t * (170.73 + t * (52.82 - t * (131.46 - t * (176.58 - t * 67.37))));
  const double b = 81.24 + t * (442.36 - t * (2482.43 - t * (6167.24 - t * (6614.94 - t * 2475.67))));
  const auto byte = [](double v) { return static_cast<std::uint8_t>(std::clamp(v + 0.5, 0.0, 255.0)); };
  return {byte(r), byte(g), byte(b)};
}

Colour level_colour(Level level) {
  switch (level) {
  case Level::firm:
    return cividis(0.3);
  case Level::leans:
    return cividis(0.9);
  case Level::snags:
  case Level::tears:
    break;
  }
  return kAlarm;
}

Colour snag_colour(double s) {
  return s >= 1 ? kAlarm : cividis(s);
}

} // namespace snagmap
