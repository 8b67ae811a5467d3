// Reach and fit: does the shank fit the collet, and does the cutter reach the deepest wall without rubbing or
// whirling?
#pragma once

#include "models/cards/collet.hpp"
#include "sim/findings/finding.hpp"
#include "sim/judge/judged_job.hpp"

#include <optional>
#include <string>
#include <vector>

namespace snagmap {

/// The verdicts on one cutter that the program uses. Unset where an input is missing.
struct ReachFit {
  int cutter = 0;
  std::string name;
  double shank_mm = 0;
  std::optional<Fit> fit;             ///< shank in the collet
  double closes_mm = 0, range_mm = 0; ///< what the collet must close, and can
  bool range_unknown = false;         ///< no verdict, although a collet is given
  std::optional<Hold> clamp;          ///< clamped length in the collet
  double lowest_tip_mm = 0;           ///< of its cutting moves, work coordinates
  std::uint32_t lowest_move = 0;
  double depth_mm = 0; ///< of the deepest wall: the sheet's top over the lowest tip; 0: above the sheet
  std::optional<double> nut_clear_mm; ///< collet face over the sheet's top at the lowest tip
  double holder_clear_mm = 0;         ///< the same of the holder; only with a nut length
  double above_flutes_mm = 0;         ///< wall that stands above the flutes; 0: the flutes reach the top
  double neck_relief_mm = 0;          ///< gap beside the cut at the neck, or the shank where there is no neck
  double fastest_rpm = 0;
  std::optional<double> critical_rpm;
  Whirl whirl = Whirl::clear;
  std::size_t spots_that_rub = 0; ///< webs that lean into the neck
  double most_lean_mm = 0;        ///< of those
  std::int32_t rub_line = 0;
  double rub_time_s = 0;
  Vec3 rub_mm;                    ///< on the wall that leans most
  std::uint32_t fastest_move = 0; ///< the first at fastest_rpm
};

/// One for each cutter in use, in the scene's order.
std::vector<ReachFit> check_reach(const Scene& scene, const Path& path, const std::vector<Spot>& spots);

/// Refused fits first: they stop the job.
std::vector<Finding> reach_findings(const std::vector<ReachFit>& fits, const Scene& scene, const Path& path,
                                    const Motion& motion);

} // namespace snagmap
