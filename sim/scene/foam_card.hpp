// A foam card in a file of its own: what the user measured, for scenes to name.
#pragma once

#include "models/fault.hpp"
#include "models/foam.hpp"

#include <string>

namespace snagmap {

/// Reads a card: the keys of a scene's [foam], and title and history. Faults with file, line and column.
Outcome<FoamCard> read_foam_card(const std::string& file);
/// The same for text in memory; `file` stands for it in faults.
Outcome<FoamCard> parse_foam_card(const std::string& text, const std::string& file);

/// The card as TOML, every value with its band, source and unit; read back, it gives the same numbers.
std::string foam_card_text(const FoamCard& card);
/// The card with its measured numbers to four significant digits, which is more than readings of foam carry.
/// Rounding keeps the order of low, value and high.
FoamCard rounded(FoamCard card);
/// Text as a TOML basic string, quotes and control characters escaped (TOML 1.0).
std::string toml_text(const std::string& words);

} // namespace snagmap
