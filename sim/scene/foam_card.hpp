// A foam card in a file of its own: what the user measured, for scenes to name.
#pragma once

#include "models/base/fault.hpp"
#include "models/cards/foam.hpp"

#include <string>

namespace snagmap {

/// Reads a card's text: the keys of a scene's [foam], and title and history. Faults with `file`, line and
/// column.
Outcome<FoamCard> parse_foam_card(const std::string& text, const std::string& file);

} // namespace snagmap
