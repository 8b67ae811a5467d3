// What every view says of a web: where it stands, what decides it, what would clear it.
#pragma once

#include "sim/answer/answer.hpp"
#include "viz/words/shown.hpp"

#include <string>
#include <vector>

namespace snagmap {

/// "between the second and third slot from the left, at X 44, Y 79"
std::string words_of(const Whereabouts& place, const Shown& shown);
/// The same for a narrow column: "slots 2 and 3 from the left, X 44 Y 79".
std::string short_words(const Whereabouts& place, const Shown& shown);
/// What decides the worst spot, as short as it can be said: "flutes reach 22 mm up it".
std::string decided_by(const Spot& spot, const Shown& shown);
/// What would clear the web: cutters and levers, then the thickness; empty: nothing that was tried.
std::vector<std::string> cleared_words(const WebRow& row, const Shown& shown);

} // namespace snagmap
