// A wall's compliance by finite elements, from its bricks alone: walls of one shape are solved once.
#pragma once

#include "sim/verify/patch.hpp"

#include <string>
#include <vector>

namespace snagmap {

/// A wall as it is solved: lengths rounded to 1e-6 mm and shares of foam to 1/4096, so that one shape met at
/// two places, turned or mirrored is the same to the last bit, and its key all that the solve depends on.
struct StandardWall {
  WebPatch patch;
  SnagQuestion question;
  double lambda = 0;
  bool mirrored = false; ///< the patch's x runs against the spot's
  std::string key;       ///< of two walls with equal keys one solve serves both
};
StandardWall standard_wall(WebPatch patch, SnagQuestion question, double lambda);

struct SolvedWall {
  WallCompliance fine, wall; ///< of the finer mesh, and extrapolated from both
  int bricks = 0, unknowns = 0, right_hand_sides = 0, iterations = 0;
  double residual = 0;
  std::vector<Vec3> shape; ///< of the snag mode at the face's nodes, in the patch's axes, largest 1
};
/// `patterns` smooth loads on the coarser mesh and the mode they give on the finer one; kSlices: every slice
/// on both. Unsolved when a solve did not converge or the wall stands on foam that nothing holds.
OrUnsolved<SolvedWall> solve_wall(const StandardWall& wall, int patterns, double tolerance);

} // namespace snagmap
