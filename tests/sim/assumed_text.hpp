// An assumption as one line, in base units, for comparing: "[sheet] zero_on = "top" (not given)".
#pragma once

#include "sim/text/table.hpp"

#include <fmt/format.h>

#include <string>

namespace snagmap {

inline std::string text_of(const Assumed& one) {
  std::string value = one.word;
  for (const Amount& amount : one.amounts)
    value += (value.empty() ? "" : ", ") + with_unit(amount.value, amount.dimension);
  struct Why {
    std::string operator()(const why::Source& w) const { return w.text; }
    std::string operator()(const why::TouchedOff& w) const { return fmt::format("line {}: G92", w.line); }
    std::string operator()(const why::DeepestCutAndFloor& w) const {
      return fmt::format("deepest cut and {:g} mm", w.floor_mm);
    }
    std::string operator()(const why::ExtentsAndBorder& w) const {
      return fmt::format("extents and {:g} mm", w.border_mm);
    }
    std::string operator()(const why::FlutesNeckAndShank& w) const {
      return fmt::format("flutes, neck and {:g} mm", w.shank_mm);
    }
  };
  return (one.file.empty() ? "" : one.file + ": ") + (one.table.empty() ? "" : one.table + " ") + one.key +
         " = " + value + " (" + std::visit(Why{}, one.why) + ")";
}

} // namespace snagmap
