// The preview: everything found about a scene, as plain data with its evidence.
#pragma once

#include "sim/checks/job_checks.hpp"
#include "sim/findings/thin_foam.hpp"
#include "sim/judge/judged_job.hpp"
#include "sim/verify/solve_choice.hpp"

#include <functional>
#include <memory>
#include <string>
#include <vector>

namespace snagmap {

struct AdviceList;
struct JobAnswer;

/// A judged job and what the stages after judging found about it.
struct Preview : JudgedJob {
  std::string
      record_words; ///< how a saved record was met: read, or cut again and why; empty: none was asked for
  std::vector<ThinFoam> thin_foam; ///< too thin to judge, one for each place, in the order of the program
  std::vector<Finding> findings;
  std::shared_ptr<const JobChecks>
      checks; ///< hold-down, loose pieces, strands, reach, wall truth (sim/checks/job_checks.hpp)
  std::shared_ptr<const AdviceList>
      advice; ///< what would help, tried out (sim/advice/advice.hpp); empty: not asked for
  std::shared_ptr<const JobAnswer>
      answer; ///< webs row by row, and the first advice (sim/answer/answer.hpp); empty: not worked out yet
  std::vector<Note> notes;
  std::vector<Assumed> assumptions;
  std::size_t sample_count = 0, rays = 0, eigenproblems = 0;
  std::vector<StageTime> times; ///< clock times, kept out of result.json
};

struct PreviewOptions {
  double voxel_mm = 0;                ///< 0: the scene's
  std::size_t memory_limit_bytes = 0; ///< refuse before the cut what would take more; 0: no limit
  std::string
      record_file; ///< the record is taken from here when that is faster than the cut; empty: it is cut
  SolveChoice verify = SolveChoice::plausible();
  /// Long work reports: stage name and share done; return false to stop. From any thread, one at a time.
  std::function<bool(const std::string&, double)> progress;
};

/// The main job: scene in, everything found out. Reads like a recipe; each step is a function of its own.
Outcome<Preview> preview(const Scene& scene, const PreviewOptions& options);
/// The same for a path at hand and a scene whose sheet is settled.
Outcome<Preview> preview_path(const Scene& scene, const Path& path, const PreviewOptions& options);
/// The job of `before` again with another scene or path: what the change leaves as it was (motion, record,
/// spots) is taken over, so the result equals that of preview_path at a lower price. The voxel must be the
/// same.
Outcome<Preview> preview_again(const Preview& before, const Scene& scene, const Path& path,
                               const PreviewOptions& options);

} // namespace snagmap
