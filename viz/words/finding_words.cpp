#include "viz/words/finding_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace snagmap {

std::string clock_text(double seconds) {
  const long whole = std::lround(std::max(0.0, seconds));
  if (whole < 3600)
    return fmt::format("{}:{:02}", whole / 60, whole % 60);
  return fmt::format("{}:{:02}:{:02}", whole / 3600, whole / 60 % 60, whole % 60);
}

std::string moment_words(const Finding& finding) {
  if (!finding.time_s)
    return "whole job";
  return finding.program_line > 0
             ? fmt::format("line {}, {}", finding.program_line, clock_text(*finding.time_s))
             : clock_text(*finding.time_s);
}

} // namespace snagmap
