// Reading an NC program into a Path, strictly: everything is understood or refused with its place.
#pragma once

#include "models/fault.hpp"
#include "sim/path/path.hpp"

#include <cstddef>
#include <map>
#include <optional>
#include <string>

namespace snagmap {

struct ProgramOptions {
  Vec3 start_mm{0, 0, 20};    ///< where the tip stands before the first move (a note says so)
  bool start_assumed = false; ///< start_mm is a guess: a G92 before the first move tells it (touching off)
  double arc_tolerance_mm = 0.002; ///< radius rule; a looser one is asked for by name in the scene
  bool block_delete = false;       ///< skip lines that begin with '/'
  std::map<int, int> tool_index;   ///< program tool number -> scene cutter index; empty: any single tool is 0
  std::map<int, double>
      tool_length_mm; ///< by tool (and H) number; needed only when H is not the tool's number
  int fault_limit = 20;
  std::map<int, Vec3> work_origin_mm;  ///< origins of systems 1 (G54) to 9 (G59.3) in the sheet's coordinates
  std::optional<Vec3> machine_zero_mm; ///< the machine's zero in the sheet's coordinates (G53, G10)
  std::optional<Vec3> home_mm; ///< where G28 (and G30) goes, sheet's coordinates; empty: the start place
  std::optional<Vec3> second_home_mm;                  ///< where G30 goes when it is another place
  std::size_t path_limit_bytes = std::size_t{4} << 30; ///< a longer path is refused with an estimate
};

/// Reads a file in pieces (constant memory apart from the path). Faults collect up to the limit.
///
/// The language is the subset of RS-274 (after NIST RS274/NGC version 3, NISTIR 6556, from memory) that a
/// 3-axis router needs; what is outside it is refused by name. The path is in the sheet's coordinates: the
/// origin of the first work system used. Parameters 5161 to 5390 hold millimetres.
Outcome<Path> read_program(const std::string& file, const ProgramOptions& options);
/// The same for text in memory; `name` stands for the file in faults.
Outcome<Path> parse_program(const std::string& text, const std::string& name, const ProgramOptions& options);

} // namespace snagmap
