// What must hold for any bytes taken as a whole job, program, sheet and cutter; shared by the fuzz target,
// the replay of its corpus and the benchmark.
#pragma once

#include "sim/checks/job_checks.hpp"
#include "sim/preview/preview.hpp"
#include "sim/probe/volumes.hpp"
#include "sim/results/results.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <string>

namespace snagmap {

/// The job in the bytes: the first line chooses, a letter or figure each, foam, cutter, sheet x, y and z,
/// zero, voxel, set-up, machine, the cutter of T2 and the foam of a second layer; the program follows. What
/// is missing is a '0'.
struct TinyJob {
  Scene scene;
  std::string program;
};

inline TinyJob tiny_job(const std::string& bytes) {
  const std::size_t line = std::min(bytes.find('\n'), bytes.size());
  const auto choice = [&](std::size_t field, std::size_t count) {
    return field < line
               ? static_cast<std::size_t>(static_cast<unsigned char>(bytes[field]) + 256 - '0') % 256 % count
               : 0;
  };
  static constexpr std::array<double, 10> kSide_mm = {20, 25, 30, 33.3, 40, 50.8, 60, 76.2, 80, 100};
  static constexpr std::array<double, 10> kHeight_mm = {5, 6.35, 10, 12, 20, 25, 25.4, 30, 40, 50};
  static constexpr std::array<double, 5> kZero = {0, 0.5, 1, -0.3, 0.1};
  static constexpr std::array<double, 5> kVoxel_mm = {1, 1.5, 2, 3, 0.7};
  TinyJob job;
  Scene& scene = job.scene;
  const double x = kSide_mm[choice(2, 10)], y = kSide_mm[choice(3, 10)], z = kHeight_mm[choice(4, 10)];
  const double share = kZero[choice(5, kZero.size())];
  scene.sheet = {{-share * x, -share * y, -z}, {(1 - share) * x, (1 - share) * y, 0}};
  scene.voxel_mm = kVoxel_mm[choice(6, kVoxel_mm.size())];
  const std::size_t set_up = choice(7, 16);
  scene.rigid_floor = set_up & 1;
  scene.sheet_given = scene.thickness_given = !(set_up & 2);
  scene.hold_down.kind = set_up & 4   ? HoldDownKind::tape
                         : set_up & 8 ? HoldDownKind::vacuum
                                      : HoldDownKind::none_given;
  scene.hold_down.tension_kPa = scene.hold_down.shear_kPa = {20, 10, 30, "invented", true};
  scene.hold_down.peel_N_mm = {0.2, 0.1, 0.3, "invented", true};
  if (set_up & 8)
    scene.hold_down.vacuum_kPa = 5;
  scene.machine = machine_cards()[choice(8, machine_cards().size())];
  const std::vector<CutterCard>& cutters = cutter_cards();
  scene.cutters = {cutters[choice(1, cutters.size())], cutters[choice(9, cutters.size())]};
  scene.tool_index = {{0, 0}, {1, 0}, {2, 1}};
  scene.tool_length_mm = {{1, 50}, {2, 60}};
  const std::vector<FoamCard>& foams = foam_cards();
  scene.layers = {{foams[choice(0, foams.size())], z}};
  if (const std::size_t second = choice(10, foams.size() + 1); second > 0) {
    scene.layers[0].thickness_mm = 0.5 * z;
    scene.layers.push_back({foams[second - 1], 0.5 * z});
  }
  scene.program_file = "tiny.nc";
  job.program = line < bytes.size() ? bytes.substr(line + 1) : "";
  if (job.program.empty())
    job.program = "M2\n";
  scene.program_text = job.program;
  return job;
}

/// A key of result.json whose value is no number though it should be one; empty: none.
inline std::string key_without_number(const std::string& json) {
  // An empty place says: no hold-down factor, no mesh, no lean past S = 1, no record of the checks.
  // A finding of the whole job has neither line, nor moment, nor place; few remarks have a length. No
  // thickness may hold.
  static constexpr std::array kMayBeEmpty = {
      "least",          "stock",    "lean_mm",   "lean_low_mm", "lean_high_mm",
      "u_max_mm",       "fe",       "advice",    "time_s",      "place_mm",
      "program_line",   "see_to_s", "length_mm", "least_w_mm",  "least_w_whole_band_mm",
      "pass_at_most_mm"};
  for (std::size_t at = json.find("null"); at != std::string::npos; at = json.find("null", at + 4)) {
    const std::size_t close = json.find_last_not_of(" \n:", at - 1), open = json.rfind('"', close - 1);
    if (json[close] != '"')
      return "an array, near " + json.substr(at > 60 ? at - 60 : 0, 60);
    const std::string key = json.substr(open + 1, close - open - 1);
    if (std::none_of(kMayBeEmpty.begin(), kMayBeEmpty.end(), [&](const char* may) { return key == may; }))
      return key;
  }
  return "";
}

/// Empty when all holds, else what is broken. At most a few hundred moves; tens of milliseconds.
inline std::string broken_preview(const std::string& bytes) {
  const auto finite = [](auto... values) { return (std::isfinite(static_cast<double>(values)) && ...); };
  TinyJob job = tiny_job(bytes);
  PreviewOptions options;
  options.verify = SolveChoice::none();
  options.memory_limit_bytes = std::size_t{100} << 20;
  ProgramOptions reading = program_options(job.scene);
  reading.path_limit_bytes = 300 * sizeof(Move);
  Outcome<Path> path = parse_program(job.program, job.scene.program_file, reading);
  if (!path)
    return path.faults().empty() ? "refused without a fault" : "";
  settle_sheet(job.scene, *path);
  const Outcome<Preview> found = preview_path(job.scene, *path, options);
  if (!found)
    return found.faults().empty() || found.faults().front().what.empty() ? "refused without words" : "";
  const Box3& sheet = found->scene.sheet;
  if (!finite(sheet.low.x, sheet.low.y, sheet.low.z, sheet.high.x, sheet.high.y, sheet.high.z))
    return "a sheet that is no box";
  if (!finite(found->motion.total_s()) || found->motion.total_s() < 0)
    return "a time that is no number";
  for (const WebFound& web : found->webs) {
    if (!finite(web.w_mm, web.h_mm, web.length_mm, web.d1_mm, web.d2_mm, web.root_z_mm, web.top_z_mm) ||
        web.w_mm <= 0 || web.h_mm <= 0)
      return "a web without a size";
    for (const Vec2& p : web.midline_mm)
      if (!finite(p.x, p.y))
        return "a mid-line that is no line";
  }
  for (const Spot& spot : found->spots) {
    const SnagAnswer& said = spot.answer;
    if (!finite(said.s, said.s_low, said.s_high, said.s_touch) || said.s_low < 0 || said.s < said.s_low ||
        said.s_high < said.s)
      return "an S that is no number";
    if (!finite(said.lean_mm, said.lean_low_mm, said.lean_high_mm, said.u_max_mm, said.root_load_ratio,
                said.residual))
      return "a lean that is no number";
    if (!finite(spot.place_mm.x, spot.place_mm.y, spot.place_mm.z, spot.normal.x, spot.normal.y, spot.time_s,
                spot.a_mm, spot.feed_mm_min, spot.chip_mm))
      return "a spot without a place";
  }
  for (const PathSample& sample : found->samples)
    if (!finite(sample.s, sample.lean_mm, sample.w_mm, sample.time_s, sample.feed_mm_min, sample.chip_mm))
      return "a sample that is no number";
  for (const Finding& finding : found->findings)
    if ((finding.time_s && !finite(*finding.time_s)) ||
        (finding.place_mm && !finite(finding.place_mm->x, finding.place_mm->y, finding.place_mm->z)))
      return std::string("a finding without a place: ") + to_text(finding.kind()); // its values: result.json
  double gone_mm3 = 0;
  for (const double one : removed_mm3(*found->record)) {
    if (!finite(one) || one < 0)
      return "a volume that is no number";
    gone_mm3 += one;
  }
  const Vec3 size = sheet.high - sheet.low;
  if (gone_mm3 > (1 + 1e-6) * size.x * size.y * size.z)
    return "more foam cut than there is";
  if (const std::string key = key_without_number(result_json(*found)); !key.empty())
    return "result.json has no number at " + key;
  return "";
}

} // namespace snagmap
