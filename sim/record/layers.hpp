// Sweeps along one way lie on each other as the layers of a pocket, the turns of a helix and the pecks of a
// drill do: what repeats on one place is asked once.
#pragma once

#include "sim/record/data.hpp"
#include "sim/swept/chord_runs.hpp"

namespace snagmap {

/// For each sweep the height, mm, from which on up earlier sweeps of the same way have taken all it can take:
/// only the lowest part of each layer is needed to know the stock. Below everything for a sweep that takes
/// nothing. Only the speed of looking depends on it. O(sweeps).
std::vector<float> fresh_heights(const RecordData& data);

/// The latest sweep of a way stands for those before it that are joined to it: it and the air over it, up to
/// `high`, hold all their flutes did. Of a run of chords (ChordRuns) the first speaks for the run.
struct SweepStacks {
  std::vector<double> low, high;      ///< of the sweep and all it stands for, mm; low = high: in no stack
  std::vector<std::uint8_t> idle;     ///< 1: an earlier sweep of the way holds this one
  std::vector<std::uint32_t> of;      ///< number of the sweep's stack; kNever: it stands for itself alone
  std::vector<std::uint32_t> first;   ///< by stack, one more at the end: where its members begin
  std::vector<std::uint32_t> members; ///< sweeps of the stacks, in order
  /// The latest sweep before `done` of the stack of n; n itself where it is in none. n must come before
  /// `done`.
  std::uint32_t latest(std::uint32_t n, std::uint32_t done) const;
};
SweepStacks stacks_of(const RecordData& data, const ChordRuns& runs);

} // namespace snagmap
