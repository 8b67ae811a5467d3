// What the real motion means for the job: where its time goes, which feeds stay a wish, and where it is slow.
#pragma once

#include "sim/motion/motion.hpp"

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
  std::int32_t line = 0, last_line = 0; ///< program lines of the first and the last
  double length_mm = 0;
  double programmed_mm_min = 0, allowed_mm_min = 0; ///< where the excess is the greatest share
};
/// In the order of the program; moves that are no feed moves between two of one run do not end it.
std::vector<FeedOverLimit> feeds_over_limit(const Path& path, const MachineCard& machine);

/// The parts of a move that are run slower than a speed: so much of it from its start, and up to its end. All
/// of it is `start_mm` = length.
struct SlowEnds {
  double start_mm = 0, end_mm = 0;
};
SlowEnds slower_than(const Path& path, const Motion& motion, std::size_t move, double speed_mm_s);

/// Time between two shares of a move's length (0 <= from <= to <= 1).
double time_between_s(const Path& path, const Motion& motion, std::size_t move, double from, double to);

} // namespace snagmap
