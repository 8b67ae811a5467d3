// What a finding says, and when and where it is, in words: every view says it the same way.
#pragma once

#include "sim/preview/preview.hpp"
#include "viz/words/shown.hpp"

#include <string>

namespace snagmap {

/// One sentence or two, without a full stop at the end.
std::string words_of(const Fact& fact, const Shown& shown);
/// "line 12, 0:42", or "whole job" for a finding without a moment.
std::string moment_words(const Finding& finding);

} // namespace snagmap
