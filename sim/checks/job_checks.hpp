// The whole job in one call: what else can cost a sheet, a cutter or an eye besides a torn web.
#pragma once

#include "sim/checks/run_numbers.hpp"
#include "sim/checks/strands.hpp"
#include "sim/checks/timeline.hpp"
#include "sim/checks/walls.hpp"
#include "sim/findings/finding.hpp"
#include "sim/findings/reach.hpp"
#include "sim/hold/hold.hpp"
#include "sim/hold/loose_pieces.hpp"
#include "sim/judge/judged_job.hpp"

#include <functional>
#include <string>
#include <vector>

namespace snagmap {

struct JobChecks {
  LoosePieces loose;
  Strands strands;
  RunNumbers run;
  HoldCheck hold;
  std::vector<ReachFit> reach;
  WallTruth walls;
  ThicknessTruth thickness;
  std::vector<EdgeRank> edges;
  std::vector<SeamHit> seams;
  std::optional<fact::ZeroContradicts> zero;
  RiskTimeline timeline;
  std::vector<Finding> findings; ///< of all of the above: those that stop the job first, then by time
  std::vector<StageTime> times;  ///< clock times of the checks
  bool stopped = false;          ///< before the end: none of it is to be shown
};

/// Everything from one judged job; `touches` are the findings made before, of which those that rub go on the
/// timeline. Deterministic on any thread count, clock times apart. `progress` as in PreviewOptions.
JobChecks check_job(const JudgedJob& judged, const std::vector<Finding>& touches,
                    const std::function<bool(double)>& progress = {});

} // namespace snagmap
