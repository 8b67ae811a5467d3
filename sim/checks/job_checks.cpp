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

/// The checks while they are made: each stage puts its answer and its clock time into `job`.
class Checks {
public:
  Checks(const JudgedJob& judged, const std::function<bool(double)>& progress)
      : judged_(judged), progress_(progress) {}

  JobChecks job;

  /// Says how far it is; true once somebody wants it to stop.
  bool told_to_stop(double share) {
    job.stopped = job.stopped || (progress_ && !progress_(share));
    return job.stopped;
  }

  void read_record() {
    job.times.push_back(timed("runs", [&] { grid_ = run_grid(*judged_.record); }));
  }

  /// At one time: each of the two has a long serial part.
  void find_pieces_and_strands() {
    const Scene& scene = judged_.scene;
    StageTime pieces, strands;
    parallel_both(
        [&] {
          pieces = timed("loose pieces", [&] {
            job.loose = find_loose_pieces(grid_, loose_);
            place_on_path(job.loose, grid_, judged_.path, judged_.motion, scene.cutters,
                          scene.main_foam().bite_depth_mm.nominal);
          });
        },
        [&] {
          strands = timed("strands", [&] {
            trace_ = trace_cuts(*judged_.record, judged_.path, kStep_mm);
            job.strands = find_strands(trace_, judged_.path, judged_.motion, scene, {});
          });
        });
    job.times.push_back(pieces);
    job.times.push_back(strands);
  }

  void time_feeds_and_hold() {
    job.times.push_back(timed("time and feeds", [&] {
      job.run = run_numbers(judged_.path, judged_.motion, judged_.scene, trace_, job.strands);
    }));
    job.times.push_back(
        timed("hold-down", [&] { job.hold = check_hold(judged_, trace_, grid_, job.loose); }));
  }

  void measure_what_stands() {
    const Scene& scene = judged_.scene;
    const Path& path = judged_.path;
    job.times.push_back(timed("reach and walls", [&] {
      job.reach = check_reach(scene, path, judged_.spots);
      job.walls = check_walls(judged_);
      job.edges = rank_edges(scene, path);
      job.seams = check_seams(scene, path, grid_);
      job.zero = zero_contradiction(scene, path);
    }));
    job.times.push_back(timed("thickness spread", [&] { job.thickness = check_thickness(scene, path); }));
  }

  /// Findings of all checks, and the timeline, which needs those that rub.
  void tell(const std::vector<Finding>& touches) {
    const Scene& scene = judged_.scene;
    const Path& path = judged_.path;
    const Motion& motion = judged_.motion;
    append(job.findings, reach_findings(job.reach, scene, path, motion));
    std::vector<Finding> rubs = touches;
    append(rubs, job.findings);
    job.timeline = risk_timeline(judged_, job.strands, job.loose, job.hold, rubs);
    append(job.findings, hold_findings(job.hold, job.loose));
    append(job.findings, loose_findings(job.loose, path, motion, loose_));
    append(job.findings, strand_findings(job.strands));
    append(job.findings, run_findings(job.run, path, motion, scene, trace_));
    append(job.findings,
           wall_findings(job.walls, job.thickness, job.edges, job.seams, job.zero, path, motion));
    append(job.findings, unit_slips(scene, path, motion));
    std::stable_sort(job.findings.begin(), job.findings.end(), [](const Finding& a, const Finding& b) {
      return a.stops_job != b.stops_job ? a.stops_job : !a.stops_job && a.time_s < b.time_s;
    });
  }

private:
  template <class Work> static StageTime timed(const char* stage, const Work& work) {
    const auto start = std::chrono::steady_clock::now();
    work();
    return {stage, std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count()};
  }

  const JudgedJob& judged_;
  const std::function<bool(double)>& progress_;
  const LooseOptions loose_;
  RunGrid grid_;
  CutTrace trace_;
};

} // namespace

JobChecks check_job(const JudgedJob& judged, const std::vector<Finding>& touches,
                    const std::function<bool(double)>& progress) {
  Checks checks(judged, progress);
  checks.read_record();
  if (checks.told_to_stop(0.2))
    return std::move(checks.job);
  checks.find_pieces_and_strands();
  if (checks.told_to_stop(0.6))
    return std::move(checks.job);
  checks.time_feeds_and_hold();
  if (checks.told_to_stop(0.8))
    return std::move(checks.job);
  checks.measure_what_stands();
  if (checks.told_to_stop(0.95))
    return std::move(checks.job);
  checks.tell(touches);
  return std::move(checks.job);
}

} // namespace snagmap
