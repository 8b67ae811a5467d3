// A cutter of the built-in cards by its name, for tests.
#pragma once

#include "models/cards/cutter.hpp"

#include <algorithm>
#include <optional>
#include <string>

namespace snagmap::testing {

inline std::optional<CutterCard> find_cutter(const std::string& name) {
  const std::vector<CutterCard>& cards = cutter_cards();
  const auto found =
      std::find_if(cards.begin(), cards.end(), [&](const CutterCard& card) { return card.name == name; });
  return found == cards.end() ? std::nullopt : std::optional(*found);
}

} // namespace snagmap::testing
