// Cards as TOML, as scenes take them.
#pragma once

#include "models/cards/cutter.hpp"
#include "models/cards/foam.hpp"
#include "models/cards/machine.hpp"

#include <string>

namespace snagmap {

/// The card as TOML, every value with its band, source and unit; read back, it gives the same numbers.
std::string foam_card_text(const FoamCard& card);
/// The card with its measured numbers to four significant digits, which is more than readings of foam carry.
/// Rounding keeps the order of low, value and high.
FoamCard rounded(FoamCard card);

/// The keys of a scene's [cutter]; what the card does not have (a neck, a nut) is left out. Title and source
/// of a catalogue's card are not kept.
std::string cutter_text(const CutterCard& card);
/// The keys of a scene's [machine].
std::string machine_text(const MachineCard& card);

/// Text as a TOML basic string, quotes and control characters escaped (TOML 1.0).
std::string toml_text(const std::string& words);

} // namespace snagmap
