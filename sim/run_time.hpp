// What the real motion means for the job: where its time goes, which feeds stay a wish, and where the chip is
// too thin.
#pragma once

#include "sim/motion.hpp"

#include <cstdint>
#include <vector>

namespace snagmap {

/// Seconds of the program by what the machine does; the parts add up to the total. A feed move through air
/// counts as cutting. Stops (M0) take no time here: how long the operator takes is not known.
struct TimeSplit {
  double cutting_s = 0, rapids_s = 0;
  double changes_s = 0; ///< tool changes
  double waiting_s = 0; ///< dwells and spindle run-up
  double total_s() const { return cutting_s + rapids_s + changes_s + waiting_s; }
};
TimeSplit split_time(const Path& path, const Motion& motion);

/// Neighbouring feed moves that ask for more than the axes allow along them.
struct FeedOverLimit {
  std::size_t first_move = 0, moves = 0;
  std::int32_t line = 0;                            ///< program line of the first
  double programmed_mm_min = 0, allowed_mm_min = 0; ///< where the excess is the greatest share
};
/// In the order of the program; moves that are no feed moves between two of one run do not end it.
std::vector<FeedOverLimit> feeds_over_limit(const Path& path, const MachineCard& machine);

/// What the chip depends on, by the tool index of the path.
struct ToolEdge {
  int flutes = 1;
  double rubbing_mm = 0; ///< chip load under which the edge rubs instead of cutting, mm a tooth; 0: not known
};
/// Real chip load of one feed move, mm a tooth: speed / (flutes x turns). Zero for other moves and a standing
/// spindle.
struct ChipLoad {
  float mean_mm = 0;  ///< over the move's length and time
  float least_mm = 0; ///< at its slowest place
  float most_mm = 0;
  float rubbing_mm = 0; ///< length of the move run below the rubbing limit
  float rubbing_s = 0;  ///< and its time
};
/// One a move. A tool index beyond `edges` throws std::out_of_range.
std::vector<ChipLoad> chip_loads(const Path& path, const Motion& motion, const std::vector<ToolEdge>& edges);

} // namespace snagmap
