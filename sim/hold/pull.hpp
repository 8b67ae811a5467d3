// How the cutter pulls at the foam: by the forces of each step of the cut, and by the hook load of a web that
// snags.
#pragma once

#include "models/mechanics/hold_down.hpp"
#include "sim/hold/cut_trace.hpp"
#include "sim/judge/judged_job.hpp"

namespace snagmap {

enum class HoldCase { cutting, snag };

/// One pull, nominal, and how far its range reaches above and below as ratios.
struct Pull {
  HoldCase hold_case = HoldCase::cutting;
  bool expected = true; ///< false: a snag that only the upper end of S's band foresees
  std::uint32_t move = 0;
  std::int32_t line = 0;
  double share = 0, time_s = 0;
  Vec3 tip_mm, at_mm;          ///< of the cutter; where it pulls
  double cutter_radius_mm = 0; ///< what stands round the tip, to spread the load
  double beside_mm = 0;        ///< how far from `at_mm` it pulls at a piece
  double height_mm = 0;        ///< over the table
  PieceLoad load;              ///< moment: about the table, of the lateral force
  double up_ratio = 1, down_ratio = 1;
};

/// The cutting forces of one step of the trace.
Pull pull_of_cut(const JudgedJob& job, const CutTrace& trace, std::size_t step);
/// A snag pulls with the hook load: a steady tear, Gc, over all flutes in reach, at half their height.
Pull pull_of_snag(const JudgedJob& job, const Spot& spot);
/// Only spots whose S, or its band, reaches 1 pull.
bool may_snag(const Spot& spot);

} // namespace snagmap
