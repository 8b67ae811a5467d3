// The page's own files, from viz/serve/page, in the program.
#pragma once

#include <string_view>

namespace snagmap {

extern const std::string_view kPageHtml, kPageStyle, kPageScript;

} // namespace snagmap
