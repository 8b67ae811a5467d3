// Reading an NC program into a Path, strictly: everything is understood or refused with its place.
#pragma once

#include "models/fault.hpp"
#include "sim/path.hpp"

#include <map>
#include <string>

namespace snagmap {

struct ProgramOptions {
  Vec3 start_mm{0, 0, 20};             ///< where the tip stands before the first move (a note says so)
  double arc_tolerance_mm = 0.002;     ///< radius rule; a looser one is asked for by name in the scene
  bool block_delete = false;           ///< skip lines that begin with '/'
  std::map<int, int> tool_index;       ///< program tool number -> scene cutter index; empty: any single tool is 0
  std::map<int, double> tool_length_mm;
  int fault_limit = 20;
};

/// Reads a file in pieces (constant memory apart from the path). Faults collect up to the limit.
Outcome<Path> read_program(const std::string& file, const ProgramOptions& options);
/// The same for text in memory; `name` stands for the file in faults.
Outcome<Path> parse_program(const std::string& text, const std::string& name, const ProgramOptions& options);

} // namespace snagmap
