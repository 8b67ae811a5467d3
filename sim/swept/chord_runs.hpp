// Chords of an arc, several taken as one where only volumes are asked for: walls want them finer.
#pragma once

#include "sim/swept/sweep.hpp"

#include <vector>

namespace snagmap {

class ChordRuns {
public:
  explicit ChordRuns(const Sweeps& sweeps);
  /// First sweep of the run that n belongs to; n itself for what is no chord.
  std::uint32_t first(std::uint32_t n) const { return first_.empty() ? n : first_[n]; }
  /// One past the last.
  std::uint32_t end(std::uint32_t n) const;
  /// The straight way from the run's start to its end.
  Sweep joined(std::uint32_t first) const;

private:
  const Sweeps& sweeps_;
  std::vector<std::uint32_t> first_; // empty: the path has no chords
};

} // namespace snagmap
