// Where a condition changes along a line: the one root finder.
#pragma once

#include <algorithm>

namespace snagmap {

/// The condition holds at `low` and no longer at `high`, which are next to each other.
struct Crossing {
  double low = 0, high = 0;
  bool found = false; ///< false: it does not hold at the first end, or still holds at the last

  double middle() const { return low + 0.5 * (high - low); }
};

/// Halves [low, high] until the ends are no more than `within` apart, or have no number between them.
/// `holds(x)` is asked about one point at a time and changes once between the ends.
template <class Holds> Crossing crossing(double low, double high, const Holds& holds, double within = 0) {
  Crossing found{low, high, holds(low) && !holds(high)};
  while (found.found && found.high - found.low > within) {
    const double middle = found.middle();
    if (!(found.low < middle && middle < found.high))
      break;
    (holds(middle) ? found.low : found.high) = middle;
  }
  return found;
}

/// The same where the condition is that a value is not above 0, and the value is smooth: false position, the
/// weight of an end that stays halved (Illinois; Dowell and Jarratt 1971). A handful of questions instead of
/// thirty; values of 1e299 and more count as no value, and are stepped over by halves.
template <class Value> Crossing smooth_crossing(double low, double high, const Value& value, double within) {
  double at_low = value(low), at_high = value(high);
  Crossing found{low, high, at_low <= 0 && at_high > 0};
  for (int stays = 0; found.found && found.high - found.low > within;) {
    double x =
        at_high < 1e299 ? found.low - at_low * (found.high - found.low) / (at_high - at_low) : found.middle();
    // An end that is met to rounding still leaves a bracket: step a little past it, so that both ends close
    // in.
    x = std::clamp(x, found.low + 0.4 * within, found.high - 0.4 * within);
    const double at_x = value(x);
    if (at_x <= 0) {
      found.low = x, at_low = at_x, at_high *= stays < 0 && at_high < 1e299 ? 0.5 : 1, stays = -1;
    } else {
      found.high = x, at_high = at_x, at_low *= stays > 0 ? 0.5 : 1, stays = 1;
    }
  }
  return found;
}

} // namespace snagmap
