// Moves that go where the cutter has just been: looking from them again would tell nothing new.
#pragma once

#include "sim/path/path.hpp"

#include <vector>

namespace snagmap {

constexpr int kRepeatsLookedFrom = 4; ///< their samples lie at other places each time

/// For each move, whether it is the same motion, at the same feed and depth of pass, as more than
/// kRepeatsLookedFrom moves before it, and all moves between them repeat earlier ones of their cutter too,
/// forth or back: then they cut nothing, and the sheet it sees is the one those saw. Moves at or over
/// `top_mm` count for nothing. `pass_step_mm` by move. O(moves).
std::vector<char> repeats_of(const Path& path, const std::vector<double>& pass_step_mm, double top_mm);

} // namespace snagmap
