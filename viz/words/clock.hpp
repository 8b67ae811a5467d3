// Seconds as people read them.
#pragma once

#include <string>

namespace snagmap {

/// "1:05" minutes and seconds, "2:03:04" with hours; to the nearest second.
std::string clock_text(double seconds);

} // namespace snagmap
