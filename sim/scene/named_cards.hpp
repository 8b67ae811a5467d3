// Cards that a word of the command line names: read by what reads a scene's, so that each takes the same.
#pragma once

#include "models/base/fault.hpp"
#include "models/cards/cutter.hpp"
#include "models/cards/foam.hpp"

#include <string>
#include <vector>

namespace snagmap {

/// A card of the catalogue, or the file of an own card, its path from the folder the user is in. Faults name
/// the option, those inside a file its place.
Outcome<FoamCard> foam_named(const std::string& word, const std::string& option);
/// A card of the drawer or of the catalogue, the drawer's first.
Outcome<CutterCard> cutter_named(const std::string& word, const std::string& option,
                                 const std::vector<CutterCard>& drawer = {});

} // namespace snagmap
