// What the reader of a program is told of the machine, the sheet and the tools.
#pragma once

#include "models/base/vec.hpp"

#include <cstddef>
#include <cstdint>
#include <map>
#include <optional>
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

} // namespace snagmap
