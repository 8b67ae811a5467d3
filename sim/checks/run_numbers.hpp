// What the run comes to: its time, the feeds that stay a wish, chips too thin to cut, and the foam removed.
#pragma once

#include "sim/checks/strands.hpp"
#include "sim/findings/finding.hpp"
#include "sim/motion/time_split.hpp"

#include <vector>

namespace snagmap {

/// Neighbouring parts of the path that share a fault.
struct Stretch {
  std::int32_t from_line = 0, to_line = 0;
  double time_s = 0; ///< program time of its beginning
  Vec3 place_mm;     ///< tip there
  double length_mm = 0, spent_s = 0;
};
constexpr std::size_t kStretchesKept = 5; ///< of each list, those that take longest

/// Feed words against what the machine makes of them, all feed moves together.
struct FeedWish {
  double length_mm = 0;
  double by_words_s = 0, real_s = 0; ///< at the programmed feed, and really
  double slow_mm = 0, slow_s = 0;    ///< run under nine tenths of the feed word
  std::vector<Stretch> slow;         ///< longest first, by time
  double over_mm = 0;                ///< of moves whose feed word no axis combination allows
  std::vector<FeedOverLimit> over;   ///< greatest excess first
  std::size_t over_places = 0;       ///< how many there are, listed or not
};

/// Path in foam where the chip of one cutter stays under the cutter's least: there the edge rubs. Moves
/// steeper than 45 degrees are left out: the teeth of a plunge cut at the tip.
struct ThinChips {
  int cutter = 0;
  double least_mm = 0; ///< of the cutter's card, mm a tooth
  double in_foam_mm = 0, in_foam_s = 0;
  double thin_mm = 0, thin_s = 0;
  std::vector<Stretch> longest; ///< by time
};

/// Volumes from the moves, those read from the columns left out, are within this share of the truth, at any
/// voxel: against closed forms
/// (`scripts/bench right volume`) and counts of random jobs (tests/sim/probe/removed_count_test.cpp).
constexpr double kVolumeKnown = 0.005;

/// Solid foam removed. Chips lie looser.
struct FoamRemoved {
  double total_mm3 = 0;
  double by_columns_mm3 = 0;     ///< of that, known only to half a column at the border of what is cut
  double busiest_minute_mm3 = 0; ///< in the busiest 60 s
  double busiest_from_s = 0;
  std::int32_t busiest_line = 0;
  double largest_run_mm3 = 0; ///< between two exits from the foam
  double run_from_s = 0;
  std::int32_t run_line = 0;
  double neck_room_mm3 = 0; ///< of the cutter of that run; 0: it has no neck
};
/// Loose chips take this many times the solid foam (common practice, no source).
constexpr double kBulkLow = 3, kBulkHigh = 10;

/// A feed under this share of its feed word counts as not reached.
constexpr double kFeedReached = 0.9;

struct RunNumbers {
  TimeSplit time;
  FeedWish feeds;
  std::vector<ThinChips> thin; ///< one for each cutter that cuts foam, in the scene's order
  FoamRemoved foam;
};

/// O(moves + steps). Deterministic.
RunNumbers run_numbers(const Path& path, const Motion& motion, const Scene& scene, const CutTrace& trace,
                       const Strands& strands);

/// Feeds and chips worth a warning, at most a handful whatever the length of the program, spindle speeds
/// outside the machine's range, and foam met by a cutter that stands.
std::vector<Finding> run_findings(const RunNumbers& run, const Path& path, const Motion& motion,
                                  const Scene& scene, const CutTrace& trace);

} // namespace snagmap
