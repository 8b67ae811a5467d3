// Which bricks hang together by faces, and which of these pieces the fixed nodes hold against all rigid
// motions.
#pragma once

#include "sim/solid/solid.hpp"

namespace snagmap {

struct Pieces {
  std::size_t held = 0, loose = 0; ///< pieces
  std::size_t bricks = 0, loose_bricks = 0;
};

/// Sets the modulus of loose pieces to 0. Pieces that touch only along an edge or at a corner count as apart:
/// such a hinge has no stiffness of its own.
Pieces drop_loose_pieces(const BrickBox& box, std::vector<float>& modulus);

} // namespace snagmap
