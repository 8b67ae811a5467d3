// A path written as an NC program: what the advice changed can be cut, and read again.
#pragma once

#include "sim/path/path.hpp"

#include <map>
#include <string>
#include <vector>

namespace snagmap {

/// A length as a program writes it: fixed decimals (mm 4, inch 5), no minus before zero.
std::string nc_number(double mm, bool inch);
/// "(words)" with what a comment may not hold replaced: brackets inside, anything outside printable ASCII.
std::string nc_comment(std::string words);

/// The program of a path, in the path's own units: G0 to G4, the planes, path modes, spindle clockwise, M0
/// and tool changes, absolute, centre-form arcs. Work offsets and tool lengths are not written: the
/// coordinates are the sheet's and every cutter's tip is its zero. `tool_number`: from cutter index to the
/// number the program calls it by; empty leaves tool words out. Reading it back gives the path to the last
/// decimal written.
std::string program_text(const Path& path, const std::map<int, int>& tool_number,
                         const std::vector<std::string>& comments);

} // namespace snagmap
