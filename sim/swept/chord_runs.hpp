// Chords of an arc, many taken as one where only volumes are asked for: walls want them finer.
#pragma once

#include "sim/swept/sweep.hpp"

#include <vector>

namespace snagmap {

/// All chords of a helix about an upright axis are one run, the helix itself (helix.hpp has its heights); of
/// an arc in an upright plane so many as are nearly straight.
class ChordRuns {
public:
  explicit ChordRuns(const Sweeps& sweeps);
  /// First sweep of the run that n belongs to; n itself for what is no chord.
  std::uint32_t first(std::uint32_t n) const { return first_.empty() ? n : first_[n]; }
  /// One past the last.
  std::uint32_t end(std::uint32_t n) const;
  /// The way from the run's start to its end: straight, or an arc of `arcs()`.
  Sweep joined(std::uint32_t first) const;
  /// Holds the arcs that joined sweeps name, and no sweeps.
  const Sweeps& arcs() const { return arcs_; }

private:
  struct Helix {
    std::uint32_t begin, arc; // its first chord; index into the arcs
  };
  const Sweeps& sweeps_;
  std::vector<std::uint32_t> first_; // empty: the path has no chords
  std::vector<Helix> helices_;       // in order
  Sweeps arcs_;
};

} // namespace snagmap
