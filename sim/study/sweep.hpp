// Campaigns: many cases of one plan, in shards that can be stopped, resumed and merged.
#pragma once

#include "sim/scene/scene.hpp"

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

namespace snagmap {

/// What to vary. Every foam is taken with every cutter; with these, every wall (pass depth, thickness,
/// height) and every program.
struct SweepPlan {
  std::string file, title;
  std::vector<FoamCard> foams;
  std::vector<CutterCard> cutters;
  std::vector<double> passes_mm, widths_mm, heights_mm; ///< walls: none when one of the three is empty
  double length_mm = 100;                               ///< of the walls; both ends free
  std::vector<Scene> programs; ///< each with its own sheet; foam and cutter are replaced
  double voxel_mm = 1;
  int verify = 0;                ///< spots of each case to check by finite elements
  std::uint64_t fingerprint = 0; ///< of the plan, all it names and the program's version
};

/// One case. Numbered from 0 in the order foam, cutter, wall (pass, height, width), program.
struct SweepCase {
  std::size_t number = 0, foam = 0, cutter = 0;
  std::optional<std::size_t> program; ///< index; none: a wall
  double pass_mm = 0, width_mm = 0, height_mm = 0;
};

/// Faults as for scenes. Bounded: at most a million cases.
Outcome<SweepPlan> read_sweep_plan(const std::string& file, const StockReaders& readers = {});
Outcome<SweepPlan> parse_sweep_plan(const std::string& text, const std::string& file,
                                    const StockReaders& readers = {});

std::size_t case_count(const SweepPlan& plan);
SweepCase case_at(const SweepPlan& plan, std::size_t number);

/// The scene of a case, its program made in memory where it is a wall.
Scene scene_of_case(const SweepPlan& plan, const SweepCase& which);

/// One line of the table: what the pipeline finds. Pure; the same bytes on any number of threads. A case that
/// cannot be previewed keeps its line, with the reason in its last column. `pipeline_s` grows by the time
/// inside the pipeline.
std::string run_case(const SweepPlan& plan, const SweepCase& which, double* pipeline_s = nullptr);
/// Names of the columns with their units, comma-separated.
const char* sweep_columns();

} // namespace snagmap
