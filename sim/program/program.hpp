// Reading an NC program into a Path, strictly: everything is understood or refused with its place.
#pragma once

#include "models/base/fault.hpp"
#include "sim/control/options.hpp"
#include "sim/path/path.hpp"

#include <string>

namespace snagmap {

/// Reads a file in pieces (constant memory apart from the path); a program with loops or calls is held whole.
/// All rules that are broken are told in one run, each once, with its count and first place.
///
/// The language is RS-274 (after NIST RS274/NGC version 3, NISTIR 6556, from memory) as LinuxCNC and GRBL run
/// it on a 3-axis router; what is outside it is refused by name. A subprogram in another file is looked up
/// beside `file` and nowhere else; its moves carry the line of the call. The path is in the sheet's
/// coordinates: the origin of the first work system used. Parameters 5161 to 5390 hold millimetres.
Outcome<Path> read_program(const std::string& file, const ProgramOptions& options);
/// The same for text in memory; `name` stands for the file in faults, and no other file is looked up.
Outcome<Path> parse_program(const std::string& text, const std::string& name, const ProgramOptions& options);

} // namespace snagmap
