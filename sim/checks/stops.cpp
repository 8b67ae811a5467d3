#include "sim/checks/stops.hpp"

#include <algorithm>
#include <limits>
#include <optional>
#include <utility>

namespace snagmap {
namespace {

constexpr double kRounding_mm = 1e-6; // a rest as long as the limit is not longer than it

/// What is due next after a stop.
class Open {
public:
  Open(std::vector<StopNeed> needs, const std::vector<GrowingStrand>& strands, double within_s,
       const WayClock& clock)
      : needs_(std::move(needs)), strands_(strands), within_s_(within_s), clock_(clock) {
    std::stable_sort(needs_.begin(), needs_.end(),
                     [](const StopNeed& a, const StopNeed& b) { return a.from_s < b.from_s; });
    soonest_.resize(needs_.size());
    for (std::size_t n = needs_.size(); n-- > 0;)
      soonest_[n] =
          n + 1 < needs_.size() && needs_[soonest_[n + 1]].by_s <= needs_[n].by_s ? soonest_[n + 1] : n;
  }

  /// The need with the earliest deadline (of several the one that begins last: what serves it serves all of
  /// them) of all that no stop up to `stop_s` has seen to. No deadline passed without a stop, so whatever
  /// began by then is seen to.
  std::optional<StopNeed> after(double stop_s) {
    while (need_ < needs_.size() && needs_[need_].from_s <= stop_s)
      ++need_;
    std::optional<StopNeed> due;
    if (need_ < needs_.size())
      due = needs_[soonest_[need_]];
    for (; strand_ < strands_.size(); ++strand_) {
      const GrowingStrand& strand = strands_[strand_];
      if (strand.to_s <= stop_s)
        continue;
      const double from_mm = clock_.way_mm(std::max(strand.from_s, stop_s));
      if (clock_.way_mm(strand.to_s) - from_mm <= strand.limit_mm + kRounding_mm)
        continue; // a later stop leaves even less of it
      const double long_s = clock_.time_s(from_mm + strand.limit_mm);
      if (!due || std::make_pair(long_s + within_s_, -long_s) < std::make_pair(due->by_s, -due->from_s))
        due = {long_s, long_s + within_s_};
      break; // those after it are due later
    }
    return due;
  }

private:
  std::vector<StopNeed> needs_;
  std::vector<std::size_t> soonest_; ///< from this need on
  const std::vector<GrowingStrand>& strands_;
  double within_s_;
  const WayClock& clock_;
  std::size_t need_ = 0, strand_ = 0;
};

} // namespace

std::vector<PlannedStop> plan_stops(std::vector<StopNeed> needs, const std::vector<GrowingStrand>& strands,
                                    double within_s, const StopPlaces& places, const WayClock& clock) {
  Open open(std::move(needs), strands, within_s, clock);
  std::vector<PlannedStop> stops;
  double last_s = -std::numeric_limits<double>::infinity();
  auto given = places.given_s.begin();
  for (auto due = open.after(last_s); due && due->by_s < places.end_s; due = open.after(last_s)) {
    if (given != places.given_s.end() && *given <= due->by_s) {
      last_s = std::max(last_s, *given++);
      continue;
    }
    const auto past = std::upper_bound(places.clear_s.begin(), places.clear_s.end(), due->by_s);
    const bool clear = past != places.clear_s.begin() && past[-1] >= due->from_s;
    last_s = clear ? past[-1] : due->by_s;
    stops.push_back({last_s, !clear});
  }
  return stops;
}

} // namespace snagmap
