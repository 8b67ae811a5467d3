// When and where a finding is, in words: every view says it the same way.
#pragma once

#include "sim/preview/preview.hpp"

#include <string>

namespace snagmap {

/// "0:42", "1:02:10": program time as a clock shows it.
std::string clock_text(double seconds);

/// "line 12, 0:42", or "whole job" for a finding without a moment.
std::string moment_words(const Finding& finding);

} // namespace snagmap
