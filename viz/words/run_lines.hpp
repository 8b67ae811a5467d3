// Where the run's time goes and what it removes, in lines for people: the terminal's and the report's.
#pragma once

#include "sim/preview/preview.hpp"

#include <string>
#include <utility>
#include <vector>

namespace snagmap {

/// Each a name and its words: time, feed, chip load, foam removed. Empty for a preview without checks.
std::vector<std::pair<std::string, std::string>> run_lines(const Preview& preview);

} // namespace snagmap
