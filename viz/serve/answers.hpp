// What the page is told, as JSON: the cards to choose from, the line, the results.
#pragma once

#include "viz/jobs/line.hpp"
#include "viz/jobs/results.hpp"

#include <string>

namespace snagmap {

/// Foams by everyday name and by card, cutters with the sizes their picture is drawn from.
std::string cards_answer(const ServedFolder& folder);
/// Jobs of the line that have not become a result, and all results.
std::string state_answer(const ServedFolder& folder, const JobLine& line);
/// A test piece's walls, in the order of the drawing. Fault: it has none.
Outcome<std::string> piece_answer(const ServedFolder& folder, const SavedResult& result);
/// After a deletion: what was left in the folder.
std::string stays_answer(const std::vector<std::string>& names);
std::string fault_answer(const std::vector<Fault>& faults);

} // namespace snagmap
