// The whole job in one call: what else can cost a sheet, a cutter or an eye besides a torn web.
#pragma once

#include "sim/checks/hold.hpp"
#include "sim/checks/loose_pieces.hpp"
#include "sim/checks/reach.hpp"
#include "sim/checks/run_numbers.hpp"
#include "sim/checks/strands.hpp"
#include "sim/checks/timeline.hpp"
#include "sim/checks/walls.hpp"
#include "sim/preview/preview.hpp"

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
  std::string zero; ///< why program and zero contradict each other; empty: they do not
  RiskTimeline timeline;
  std::vector<std::string> notes; ///< what is left out, and why
  std::vector<Finding> findings;  ///< of all of the above: those that stop the job first, then by time
  std::vector<StageTime> times;   ///< clock times of the checks
};

/// Everything from one preview that has its record, spots and samples; `preview.findings` supply what rubs.
/// Deterministic on any thread count, clock times apart.
JobChecks check_job(const Preview& preview);

} // namespace snagmap
