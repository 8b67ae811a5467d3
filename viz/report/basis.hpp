// What a report's numbers rest on: how they were got, what was assumed, the scene as read; and the cautions.
#pragma once

#include "sim/preview/preview.hpp"
#include "viz/words/shown.hpp"

#include <string>

namespace snagmap {

std::string how_html(const Preview& preview, const Shown& shown);
std::string assumed_html(const Preview& preview, const Shown& shown);
std::string cautions_html();
std::string scene_html(const Preview& preview, const Shown& shown);

} // namespace snagmap
