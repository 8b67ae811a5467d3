// Where a condition changes along a line: the one root finder.
#pragma once

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

} // namespace snagmap
