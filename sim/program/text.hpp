// A path as the text of an NC program.
#pragma once

#include "sim/path/path.hpp"

#include <string>
#include <vector>

namespace snagmap {

/// A length as a program writes it: fixed decimals (mm 4, inch 5), no minus before zero.
std::string nc_number(double mm, bool inch);

/// "(words)" as any control takes it: printable ASCII alone, one '?' for each other character, no bracket
/// inside, no percent sign (which ends a tape), and no short word with a comma at the front, which some
/// controls obey.
std::string nc_comment(const std::string& words);
/// The same on as many lines as keep each under 80 characters.
std::vector<std::string> nc_comments(const std::string& words);

/// Text, and what each of its lines that moves or stands is meant to do: what was dropped is shorter than the
/// last decimal, what was split holds more than a line can.
struct ProgramText {
  std::string text;
  std::vector<Move> meant;
};

/// The program of a path in the path's own units, work system, tool numbers, planes and path modes: G0 to G4,
/// centre-form arcs, absolute; spindle both ways, coolant, M0, tool changes, G43. `comments` head it.
/// Use written_program (sim/program/written.hpp), which reads it back.
ProgramText program_text(const Path& path, const std::vector<std::string>& comments);

} // namespace snagmap
