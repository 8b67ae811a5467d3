// Result files: what a preview found, as JSON and CSV. Always mm, kPa, s; two runs give the same bytes.
#pragma once

#include "sim/preview/preview.hpp"
#include "sim/results/sentences.hpp"

#include <array>
#include <string>
#include <vector>

namespace snagmap {

constexpr int kResultSchema = 3; ///< rises when a key changes its meaning or goes away

/// Everything found, without clock times and without paths of this machine: kinds and values, and the
/// sentences that `say` makes of them, if it is given. Ends with a newline.
std::string result_json(const Preview& preview, const Sentences* say = nullptr);
/// One line for each spot, worst first, headed by names with units (RFC 4180).
std::string spots_csv(const Preview& preview, const Sentences* say = nullptr);
/// One line for each web, worst first, at its worst spot, with what would hold it; headed likewise.
std::string webs_csv(const Preview& preview, const Sentences* say = nullptr);
/// Clock times of the stages: differ from run to run, so they live apart from result.json.
std::string timing_json(const Preview& preview);

/// A finding as the file tells it.
struct FindingRead {
  FindingKind kind = FindingKind::large_sheet;
  bool stops_job = false;
  std::int32_t program_line = 0; ///< 0: none
  std::optional<double> time_s;
  std::optional<Vec3> place_mm;
  std::string words; ///< in the units shown; empty where the file has none
};

/// A result read back, for views that need no record: the look, and comparisons between runs.
struct Result {
  int schema = 0;
  std::string program_version, title, program, foam;
  std::vector<std::string> cutters;
  Box3 sheet; ///< mm
  bool show_inch = false;
  double voxel_mm = 0, tolerance_mm = 0, time_s = 0;
  std::size_t moves = 0, samples = 0;
  std::vector<WebFound> webs;
  std::vector<Spot> spots; ///< what result.json holds of them: no contact heights, no fe shape, no reasons
  std::vector<std::vector<std::string>> reasons; ///< of each spot, in words
  std::vector<FindingRead> findings;
  std::vector<std::string> notes, assumptions;
};

/// Faults: not JSON (line and column), another schema, a key missing or of the wrong type (named).
Outcome<Result> parse_result(const std::string& text, const std::string& name);
/// A result.json, or the folder that holds one. Bounded: at most 1 GB.
Outcome<Result> read_result(const std::string& file_or_folder);

} // namespace snagmap
