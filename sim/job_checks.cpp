#include "sim/job_checks.hpp"

#include <algorithm>
#include <chrono>

namespace snagmap {
namespace {

constexpr double kStep_mm = 2; // of the path, for forces and strands

void append(std::vector<Finding>& all, std::vector<Finding> some) {
  all.insert(all.end(), std::make_move_iterator(some.begin()), std::make_move_iterator(some.end()));
}

} // namespace

JobChecks check_job(const Preview& preview) {
  JobChecks job;
  const Scene& scene = preview.scene;
  const Path& path = preview.path;
  const Motion& motion = preview.motion;
  auto last = std::chrono::steady_clock::now();
  const auto lap = [&](const char* stage) {
    const auto now = std::chrono::steady_clock::now();
    job.times.push_back({stage, std::chrono::duration<double>(now - last).count()});
    last = now;
  };

  const RunGrid grid = run_grid(*preview.record);
  lap("runs");
  const LooseOptions loose;
  job.loose = find_loose_pieces(grid, loose);
  place_on_path(job.loose, grid, path, motion, scene.cutters, scene.main_foam().bite_depth_mm.nominal);
  lap("loose pieces");
  const CutTrace trace = trace_cuts(grid, path, scene.cutters, kStep_mm);
  lap("trace");
  job.strands = find_strands(trace, path, motion, scene, {});
  lap("strands");
  job.hold = check_hold(scene, path, motion, trace, grid, job.loose, preview.spots, {});
  lap("hold-down");
  job.reach = check_reach(scene, path, preview.spots);
  job.walls = check_walls(preview);
  job.edges = rank_edges(scene, path);
  job.seams = check_seams(scene, path, grid);
  job.zero = zero_contradiction(scene, path);
  lap("reach and walls");
  job.thickness = check_thickness(scene, path);
  lap("thickness spread");

  append(job.findings, reach_findings(job.reach, scene));
  std::vector<Finding> rubs = preview.findings;
  append(rubs, job.findings);
  job.timeline = risk_timeline(preview.spots, job.strands, job.loose, job.hold, rubs);
  append(job.findings, hold_findings(job.hold, job.loose));
  append(job.findings, loose_findings(job.loose, path, motion, loose));
  append(job.findings, strand_findings(job.strands));
  append(job.findings, wall_findings(job.walls, job.thickness, job.edges, job.seams, job.zero));
  append(job.findings, timeline_findings(job.timeline));
  std::stable_sort(job.findings.begin(), job.findings.end(), [](const Finding& a, const Finding& b) {
    return a.stops_job != b.stops_job ? a.stops_job : !a.stops_job && a.time_s < b.time_s;
  });
  return job;
}

} // namespace snagmap
