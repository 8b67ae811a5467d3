// Reading an NC program into a Path, strictly: everything is understood or refused with its place.
#pragma once

#include "models/base/fault.hpp"
#include "sim/path/path.hpp"

#include <cstddef>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

namespace snagmap {

/// Whose rules hold where controls differ. `either`: what one of the two accepts is read; where both accept
/// and mean different things, LinuxCNC's meaning is taken. The notes name each choice.
enum class Dialect { either, linuxcnc, grbl };

struct ProgramOptions {
  Vec3 start_mm{0, 0, 20};    ///< where the tip stands before the first move (a note says so)
  bool start_assumed = false; ///< start_mm is a guess: a G92 before the first move tells it (touching off)
  std::optional<double>
      arc_tolerance_mm; ///< how far an arc's two radii may differ; empty: as controllers have it
  Dialect dialect = Dialect::either;
  double sheet_top_mm = 0;       ///< a program without an ending may stop above it only
  bool block_delete = false;     ///< skip lines that begin with '/'
  std::map<int, int> tool_index; ///< program tool number -> scene cutter index; empty: any single tool is 0
  std::map<int, double>
      tool_length_mm; ///< by tool (and H) number; needed only when H is not the tool's number
  bool any_tool =
      false; ///< each tool number met becomes a cutter of that index: for a scene yet to be written
  std::vector<double> cutter_radius_mm; ///< by cutter index, for G41 and G42 without D
  int fault_limit = 100;                ///< most rules that are told as broken in one run
  std::uint64_t most_lines =
      20'000'000;                      ///< run by a program with loops or calls before it counts as run away
  double most_s = 30;                  ///< the same in seconds
  std::map<int, Vec3> work_origin_mm;  ///< origins of systems 1 (G54) to 9 (G59.3) in the sheet's coordinates
  std::optional<Vec3> machine_zero_mm; ///< the machine's zero in the sheet's coordinates (G53, G10)
  std::optional<Vec3> home_mm; ///< where G28 (and G30) goes, sheet's coordinates; empty: the start place
  std::optional<Vec3> second_home_mm;                  ///< where G30 goes when it is another place
  std::size_t path_limit_bytes = std::size_t{4} << 30; ///< a longer path is refused with an estimate
};

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
