// When and where a finding is, in words: every view says it the same way.
#pragma once

#include "sim/preview/preview.hpp"

#include <string>

namespace snagmap {

/// "line 12, 0:42", or "whole job" for a finding without a moment.
std::string moment_words(const Finding& finding);

} // namespace snagmap
