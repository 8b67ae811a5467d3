// What is said of a web shown in space.
#pragma once

#include "sim/answer/answer.hpp"
#include "viz/words/shown.hpp"

#include <string>

namespace snagmap {

/// How large the lean is drawn, or that its size means nothing.
std::string lean_words(bool shape_only, double factor);
/// A web for somebody who does not see the picture: place, size, S, level, line.
std::string web_aloud(const WebRow& row, const Spot& spot, const Shown& shown);
/// What the page's view answers to.
std::string space_keys();
/// What one sees of the finished sheet, and of a web at its moment.
std::string space_sheet_words();
std::string space_web_words();
/// That only the `shown` worst webs have a view of their own, and `left` that snag have none.
std::string space_left_out(std::size_t shown, std::size_t left);

} // namespace snagmap
