// From one level to the next: which axes are halved, the mean moduli, the held nodes, and the transfers.
#pragma once

#include "sim/solid/lattice.hpp"

namespace snagmap {

struct Halving {
  std::array<bool, 3> axis{};
  bool any() const { return axis[0] || axis[1] || axis[2]; }
};

/// Halves the axes with the shortest edges (of a graded axis the shortest one), so that point smoothing stays
/// good on flat bricks.
Halving choose_halving(const Lattice& fine);
BrickEdges coarse_edges(const Lattice& fine, const Halving& halving); ///< odd counts are padded with void
std::vector<float> coarse_modulus(const Lattice& fine, const Halving& halving);
/// A coarse node is held where its own fine node is; a held node between two coarse ones holds both, since a
/// support that vanishes would leave a rigid motion.
std::vector<std::uint8_t> coarse_fixed(const Lattice& fine, const Halving& halving,
                                       const std::vector<std::uint8_t>& fixed);

/// Trilinear interpolation P of nodes: x += P c with held components left 0, and its transpose r_c = P^T r.
void add_prolonged(const Lattice& fine, const Lattice& coarse, const float* c, float* x);
void restrict_residual(const Lattice& fine, const Lattice& coarse, const float* r, float* r_c);

} // namespace snagmap
