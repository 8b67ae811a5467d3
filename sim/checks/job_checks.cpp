#include "sim/checks/job_checks.hpp"

#include "sim/findings/unit_slips.hpp"
#include "sim/threads/parallel.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>

namespace snagmap {
namespace {

constexpr double kStep_mm = 2; // of the path, for forces and strands

void append(std::vector<Finding>& all, std::vector<Finding> some) {
  all.insert(all.end(), std::make_move_iterator(some.begin()), std::make_move_iterator(some.end()));
}

} // namespace

JobChecks check_job(const JudgedJob& judged, const std::vector<Finding>& touches,
                    const std::function<bool(double)>& progress) {
  JobChecks job;
  const auto told_to_stop = [&](double share) {
    job.stopped = job.stopped || (progress && !progress(share));
    return job.stopped;
  };
  const Scene& scene = judged.scene;
  const Path& path = judged.path;
  const Motion& motion = judged.motion;
  const auto timed = [](const char* stage, const auto& work) {
    const auto start = std::chrono::steady_clock::now();
    work();
    return StageTime{stage, std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count()};
  };

  RunGrid grid;
  CutTrace trace;
  const LooseOptions loose;
  StageTime pieces, strands; // at one time: each of the two has a long serial part
  job.times.push_back(timed("runs", [&] { grid = run_grid(*judged.record); }));
  if (told_to_stop(0.2))
    return job;
  parallel_both(
      [&] {
        pieces = timed("loose pieces", [&] {
          job.loose = find_loose_pieces(grid, loose);
          place_on_path(job.loose, grid, path, motion, scene.cutters,
                        scene.main_foam().bite_depth_mm.nominal);
        });
      },
      [&] {
        strands = timed("strands", [&] {
          trace = trace_cuts(*judged.record, path, kStep_mm);
          job.strands = find_strands(trace, path, motion, scene, {});
        });
      });
  job.times.push_back(pieces);
  job.times.push_back(strands);
  if (told_to_stop(0.6))
    return job;
  job.times.push_back(
      timed("time and feeds", [&] { job.run = run_numbers(path, motion, scene, trace, job.strands); }));
  job.times.push_back(timed("hold-down", [&] {
    job.hold = check_hold(scene, path, motion, trace, grid, job.loose, judged.spots, {});
  }));
  if (told_to_stop(0.8))
    return job;
  job.times.push_back(timed("reach and walls", [&] {
    job.reach = check_reach(scene, path, judged.spots);
    job.walls = check_walls(judged);
    job.edges = rank_edges(scene, path);
    job.seams = check_seams(scene, path, grid);
    job.zero = zero_contradiction(scene, path);
  }));
  job.times.push_back(timed("thickness spread", [&] { job.thickness = check_thickness(scene, path); }));

  if (told_to_stop(0.95))
    return job;
  append(job.findings, reach_findings(job.reach, scene, path, motion));
  std::vector<Finding> rubs = touches;
  append(rubs, job.findings);
  job.timeline = risk_timeline(judged, job.strands, job.loose, job.hold, rubs);
  append(job.findings, hold_findings(job.hold, job.loose));
  append(job.findings, loose_findings(job.loose, path, motion, loose));
  append(job.findings, strand_findings(job.strands));
  append(job.findings, run_findings(job.run, path, motion, scene));
  append(job.findings, wall_findings(job.walls, job.thickness, job.edges, job.seams, job.zero, path, motion));
  append(job.findings, unit_slips(scene, path, motion));
  std::stable_sort(job.findings.begin(), job.findings.end(), [](const Finding& a, const Finding& b) {
    return a.stops_job != b.stops_job ? a.stops_job : !a.stops_job && a.time_s < b.time_s;
  });
  return job;
}

} // namespace snagmap
