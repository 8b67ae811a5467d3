// Strands: how long the cutter stays in the foam without a break, and what winds up with it.
#pragma once

#include "models/mechanics/strand.hpp"
#include "sim/findings/finding.hpp"
#include "sim/hold/cut_trace.hpp"
#include "sim/motion/motion.hpp"
#include "sim/scene/scene.hpp"

#include <vector>

namespace snagmap {

/// One unbroken engagement: the cutter removes foam all along it.
struct StrandRun {
  std::uint32_t from_move = 0, to_move = 0;
  std::int32_t from_line = 0, to_line = 0;
  double from_time_s = 0, to_time_s = 0;
  Vec3 from_mm, to_mm;                ///< tip
  double start_mm = 0, length_mm = 0; ///< along the path; length is Lc
  double volume_mm3 = 0, mass_g = 0;
  double depth_mm = 0, width_mm = 0;   ///< mean cut: axial depth, radial width (volume / (length x depth))
  double engaged_rad = 0, chip_mm = 0; ///< of that mean cut, at the real mean feed
  double strip_mm = 0;           ///< strip bound of the whole run: what peels off when nothing severs it
  double turns_round_cutter = 0; ///< the strip bound wound round the cutter's diameter
  double neck_room_mm3 = 0;      ///< room round the neck; 0: no neck
  bool slot = false;
  StrandRisk risk = StrandRisk::low;
  int cutter = 0;
};

/// A place where a lift or a cross-cut would shorten a run.
struct StrandBreak {
  std::size_t run = 0; ///< index into the runs
  std::int32_t line = 0;
  std::uint32_t move = 0;
  double share = 0, time_s = 0;
  Vec3 tip_mm;
};

struct Strands {
  std::vector<StrandRun> runs;       ///< in order of the path
  std::vector<std::size_t> longest;  ///< indices of the longest runs, longest first
  std::vector<StrandBreak> breaks;   ///< that would bring every listed run down to low risk
  double longest_mm = 0, p95_mm = 0; ///< 95 % of the runs are no longer (nearest rank)
  double runs_a_metre = 0;           ///< runs for each metre of engaged path
  double engaged_mm = 0;
};

struct StrandOptions {
  std::size_t list = 10; ///< longest runs to list
};

/// A run ends where nothing is removed for max(2 vf/n, kTraceGap_mm) of path, or at a retract. Lengths and
/// volumes come from the moves: the voxel does not enter.
Strands find_strands(const CutTrace& trace, const Path& path, const Motion& motion, const Scene& scene,
                     const StrandOptions& options);

/// One finding for each listed run whose risk is not low; passes of one way at several depths share one.
std::vector<Finding> strand_findings(const Strands& strands);

} // namespace snagmap
