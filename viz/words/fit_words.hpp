// What a fit of readings tells, in words.
#pragma once

#include "sim/trust/fit_note.hpp"
#include "viz/words/shown.hpp"

#include <string>

namespace snagmap {

std::string words_of(const FitNote& note, const Shown& shown);

} // namespace snagmap
