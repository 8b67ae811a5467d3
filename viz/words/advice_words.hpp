// Advice in words: levers, what changes with them, and why one was not tried.
#pragma once

#include "sim/advice/advice.hpp"
#include "viz/words/shown.hpp"

#include <string>
#include <vector>

namespace snagmap {

std::string words_of(const Lever& lever, const Shown& shown);
std::string words_of(const Change& change, const Shown& shown);
std::string words_of(const Untried& why, const Shown& shown);
/// Which way a tooth moves a wall, both sides, with this cutter's radial widths.
std::string wall_side_words(const WallSides& sides, const Shown& shown);

/// The list for terminals and reports: a heading and one line for each entry. Trades say gain and cost first.
struct AdvicePart {
  std::string title;
  std::vector<std::string> lines;
};
std::vector<AdvicePart> advice_parts(const AdviceList& list, const Shown& shown);

/// Head of a changed program: what was changed, what is foreseen, and the usual cautions.
std::vector<std::string> advice_program_head(const Scene& scene, const Advice& advice);

} // namespace snagmap
