// Where to stop and look: the fewest stops that see to everything in time.
#pragma once

#include <cstddef>
#include <functional>
#include <vector>

namespace snagmap {

/// Seen to by any stop at a program time from `from_s` to `by_s`.
struct StopNeed {
  double from_s = 0, by_s = 0;
};

/// An unbroken cut. Its strand grows with the way; once it is longer than the limit a stop is due within the
/// patience. A stop within the cut lifts the cutter, which breaks the strand: the rest grows a new one.
struct GrowingStrand {
  double from_s = 0, to_s = 0, limit_mm = 0;
};

struct StopPlaces {
  std::vector<double> clear_s; ///< times at which the cutter is out of the foam, ascending
  std::vector<double> given_s; ///< stops and tool changes of the program itself, ascending: they cost nothing
  double end_s = 0;            ///< the program's end serves whatever may wait that long
};

/// Way along the path at a program time, and back; both ascending.
struct WayClock {
  std::function<double(double)> way_mm, time_s;
};

struct PlannedStop {
  double time_s = 0;
  bool lifted = false; ///< the cutter is in the foam there, as it is throughout the time the stop may be at
};

/// The stops to add, ascending. `strands` ascending, none within another. Each stop is put as late as the
/// earliest deadline allows: the textbook's way to meet intervals on a line with the fewest points, as a
/// later point meets every open interval that an earlier one meets (Kleinberg & Tardos, Algorithm Design,
/// chapter 4). A stop goes to the last clear time; only where there is none it is put into the cut, at the
/// deadline. O((needs + strands) log + stops x log).
std::vector<PlannedStop> plan_stops(std::vector<StopNeed> needs, const std::vector<GrowingStrand>& strands,
                                    double within_s, const StopPlaces& places, const WayClock& clock);

} // namespace snagmap
