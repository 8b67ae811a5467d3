// A default that was used where a scene says nothing.
#pragma once

#include "models/base/quantity.hpp"
#include "sim/text/members.hpp"

#include <array>
#include <cstdint>
#include <string>
#include <variant>
#include <vector>

namespace snagmap {

/// A number in the dimension's base unit.
struct Amount {
  double value;
  Dimension dimension;
};

enum class WhyKind { source, touched_off, deepest_cut_and_floor, extents_and_border, flutes_neck_and_shank };
const char* to_text(WhyKind kind);

/// Where an assumed value comes from.
namespace why {
struct Source {
  std::string text; ///< as of a card's value; names no length
  static constexpr auto kind = WhyKind::source;
  static constexpr std::array keys{"text"};
};
struct TouchedOff {
  std::int32_t line; ///< of the G92
  static constexpr auto kind = WhyKind::touched_off;
  static constexpr std::array keys{"line"};
};
struct DeepestCutAndFloor {
  double floor_mm;
  static constexpr auto kind = WhyKind::deepest_cut_and_floor;
  static constexpr std::array keys{"floor_mm"};
};
struct ExtentsAndBorder {
  double border_mm; ///< round the program's extents and the cutter's radius
  static constexpr auto kind = WhyKind::extents_and_border;
  static constexpr std::array keys{"border_mm"};
};
struct FlutesNeckAndShank {
  double shank_mm;
  static constexpr auto kind = WhyKind::flutes_neck_and_shank;
  static constexpr std::array keys{"shank_mm"};
};
} // namespace why
using AssumedWhy = std::variant<why::Source, why::TouchedOff, why::DeepestCutAndFloor, why::ExtentsAndBorder,
                                why::FlutesNeckAndShank>;

struct Assumed {
  std::string file;            ///< of the card whose key it is; empty: the scene
  std::string table, key;      ///< "[sheet]", "zero_on"; no key: the table as a whole
  std::string word;            ///< the value, where it is no number: "\"top\"", "none"
  std::vector<Amount> amounts; ///< else
  AssumedWhy why;
  static constexpr std::array keys{"file", "table", "key", "word", "amounts", "why"};
};

} // namespace snagmap
