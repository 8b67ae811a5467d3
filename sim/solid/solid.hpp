// Linear elasticity on a box of voxel bricks: the 3D truth behind the web formula.
//
//   div sigma + f = 0,  sigma = lambda tr(eps) I + 2 mu eps,  u given on the fixed degrees of freedom
//
// 8-node bricks with the incompatible bending modes of Wilson, Taylor, Doherty & Ghaboussi (1973) condensed
// out: on a rectangular brick they make in-plane bending exact, so a web needs few bricks across. The bricks
// of a patch stand in layers, each with an edge of its own; they share one Poisson's ratio and differ by a
// modulus; 0 means no foam.
#pragma once

#include "models/base/fault.hpp"
#include "models/base/vec.hpp"

#include <array>
#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

namespace snagmap {

constexpr int kMaxRightHandSides = 16; ///< solved at once; each takes about 150 bytes a brick

enum Axis : int { axis_x = 0, axis_y = 1, axis_z = 2 };
constexpr std::uint8_t kFixX = 1, kFixY = 2, kFixZ = 4, kFixAll = 7;
enum class BrickFace { x_low, x_high, y_low, y_high, z_low, z_high };

/// A box of nx x ny x nz bricks, x fastest. Nodes are (nx+1)(ny+1)(nz+1), numbered the same way.
struct BrickBox {
  std::array<int, 3> bricks{};     ///< nx, ny, nz
  std::array<double, 3> edge_mm{}; ///< brick edges
  /// Edges of each layer of bricks along an axis, where they differ; empty: all `edge_mm`.
  std::array<std::vector<double>, 3> graded_mm;
  double nu = 0.3;                 ///< of every brick, -1 < nu < 0.5 (0 .. 0.49 is tested)
  std::vector<float> modulus_MPa;  ///< of each brick; 0: void
  std::vector<std::uint8_t> fixed; ///< of each node: sum of kFixX, kFixY, kFixZ

  BrickBox() = default;
  /// All bricks of one modulus, no node fixed.
  BrickBox(std::array<int, 3> counts, std::array<double, 3> edges_mm, double poisson, double modulus);

  double edge(int axis, int layer) const {
    const std::vector<double>& own = graded_mm[std::size_t(axis)];
    return own.empty() ? edge_mm[std::size_t(axis)] : own[std::size_t(layer)];
  }
  /// Places of the planes of nodes across an axis, from 0.
  std::vector<double> planes_mm(int axis) const;
  std::size_t brick_count() const;
  std::size_t node_count() const;
  std::size_t brick(int i, int j, int k) const;
  std::size_t node(int i, int j, int k) const;
  Vec3 node_mm(std::size_t node) const; ///< measured from the box's low corner
  /// Holds these components on a whole face (kFixAll: clamped; one component: a guide or plane of symmetry).
  void fix(BrickFace face, std::uint8_t components = kFixAll);
};

/// A force on a node, or a displacement given to a fixed degree of freedom, for one right-hand side.
struct NodeValue {
  std::size_t node = 0;
  int axis = 0;
  int right_hand_side = 0;
  double value = 0; ///< N for a load, mm for a displacement
};

struct SolidProblem {
  BrickBox box;
  int right_hand_sides = 1;
  std::vector<NodeValue> loads;
  std::vector<NodeValue> given; ///< displacements of fixed degrees of freedom; those not named are 0
};

struct SolidOptions {
  double tolerance = 1e-6; ///< of |b - A u| / |b| on the free degrees of freedom
  int max_iterations = 200;
};

/// Displacements with the evidence that they solve the problem. Read `converged` before any number.
struct SolidSolution {
  bool converged = false;                     ///< every right-hand side reached the tolerance
  std::vector<double> residual;               ///< relative, true (recomputed in double at the end)
  std::vector<int> iterations;                ///< of each right-hand side
  std::size_t unknowns = 0;                   ///< free degrees of freedom that touch foam
  std::size_t bricks = 0;                     ///< bricks with foam that took part
  std::size_t loose_pieces = 0, left_out = 0; ///< pieces that nothing holds, and their bricks
  std::size_t loads_in_void = 0;              ///< on nodes without foam, left out
  double setup_s = 0, solve_s = 0;            ///< clock times, for the report only

  /// Displacement in mm; 0 at nodes that touch no foam.
  double u_mm(std::size_t node, int axis, int right_hand_side = 0) const {
    const std::size_t row = (node / nodes_x_) * 3 + static_cast<std::size_t>(axis);
    return values_[row * stride_ + (node % nodes_x_) * lanes_ + static_cast<std::size_t>(right_hand_side)];
  }
  Vec3 u_mm_at(std::size_t node, int right_hand_side = 0) const {
    return {u_mm(node, 0, right_hand_side), u_mm(node, 1, right_hand_side), u_mm(node, 2, right_hand_side)};
  }

  std::vector<double> values_; ///< rows of nodes along x; component by component; lanes innermost
  std::size_t nodes_x_ = 1, stride_ = 0, lanes_ = 1;
};

/// Solves for all right-hand sides together: conjugate gradients in double with a multigrid cycle in float.
/// Bitwise equal on any number of threads. Pieces that the fixed nodes do not hold are left out and counted.
/// Fault: no foam, nothing held, sizes that do not fit, nu or edges out of range, a load that is not finite.
Outcome<SolidSolution> solve_solid(const SolidProblem& problem, const SolidOptions& options = {});

/// Stress (xx, yy, zz, xy, yz, zx) at a brick's centre, MPa; the incompatible strains vanish there.
std::array<double, 6> stress_MPa(const BrickBox& box, const SolidSolution& solution, int i, int j, int k,
                                 int right_hand_side = 0);

} // namespace snagmap
