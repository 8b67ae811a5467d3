#include "viz/words/finding_words.hpp"

#include "viz/words/clock.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace snagmap {

std::string moment_words(const Finding& finding) {
  if (!finding.time_s)
    return "whole job";
  return finding.program_line > 0
             ? fmt::format("line {}, {}", finding.program_line, clock_text(*finding.time_s))
             : clock_text(*finding.time_s);
}

} // namespace snagmap
