// The preconditioner: one symmetric W-cycle in float over coarser and coarser lattices.
#pragma once

#include "sim/solid/lattice.hpp"

#include <memory>
#include <vector>

namespace snagmap {

class Multigrid {
public:
  /// Coarser levels of `fine` (kept by reference): axes with short edges are halved first, so a lattice with
  /// flat bricks becomes regular; moduli are the mean of the children. `fixed` as for make_lattice.
  Multigrid(const Lattice& fine, double nu, const std::vector<std::uint8_t>& fixed);
  ~Multigrid();

  /// z = B r, B symmetric positive definite: r has its held components 0, so has z. Both of fine.entries() +
  /// kSlack.
  void apply(const float* r, float* z);
  /// One smoothing from zero, z = S r; for checks of its symmetry.
  void smooth(const float* r, float* z);
  std::size_t levels() const { return levels_.size(); }

private:
  struct Level;
  struct Direct;
  void cycle(std::size_t level, const float* r, float* z);
  std::vector<std::unique_ptr<Level>> levels_;
  std::unique_ptr<Direct> direct_;
};

} // namespace snagmap
