// One brick: its stiffness in the basis 1, x, y, z, xy, yz, zx, xyz, where 45 of 576 entries are not zero.
#pragma once

#include <array>

namespace snagmap {

/// Stiffness of a brick of modulus 1 between the sums and differences of its corner values (Walsh-Hadamard
/// transform), the eight-fold norm folded in: nodal forces = H^T M H u. Units: MPa mm -> N/mm.
template <class T> struct BrickModes {
  T stretch[6]; ///< u_x, v_y, w_z : 11 22 33 12 13 23
  T shear[9];   ///< pairs (u_y v_x), (u_z w_x), (v_z w_y): first, second, cross
  T bend[9];    ///< pairs (u_xy w_yz), (u_xz v_yz), (v_xy w_xz): first, second, cross
  T twist[6];   ///< u_yz, v_xz, w_xy : 11 22 33 12 13 23
  T cube[3];    ///< u_xyz, v_xyz, w_xyz
};

struct Brick {
  BrickModes<double> modes;
  std::array<double, 3> diagonal{}; ///< of the 24 x 24 matrix, by component; the same at all corners
  /// Bound on the largest eigenvalue of D^-1 A for any mesh of such bricks with any moduli: the Rayleigh
  /// quotient of a sum is at most the largest of the parts' (Fried 1972), so the single brick gives it, no
  /// iteration.
  double largest_eigenvalue = 0;
};

/// Stiffness of a row of bricks that share their edges in y and z and differ in x: of modulus and x edge 1.
/// For an x edge of a mm everything is times a, and a difference in x is over a; `twist` and `cube` hold what
/// is over no a, `twist_x` (v_xz, w_xy) and `cube_x` what is over a^2.
template <class T> struct RowModes : BrickModes<T> { T twist_x[2], cube_x[3]; };

struct BrickRow {
  RowModes<double> modes;
  RowModes<float> modes_float;
  /// A corner's diagonal entry of component c is a (plain[c] + over_x2[c] / a^2).
  std::array<double, 3> plain{}, over_x2{};
};
BrickRow make_brick_row(double edge_y_mm, double edge_z_mm, double nu);

/// `largest_eigenvalue` of a Brick alone, cheaply.
double largest_scaled_eigenvalue(std::array<double, 3> edge_mm, double nu);

/// With the incompatible modes condensed out in closed form: on a rectangular brick they cancel the parasitic
/// shear of the bilinear modes and leave plane stress across the bend.
Brick make_brick(std::array<double, 3> edge_mm, double nu);

/// The same as a dense row-major 24 x 24 matrix; degree of freedom 3 * corner + component, corner = x + 2 y +
/// 4 z.
std::array<double, 24 * 24> dense_matrix(const Brick& brick);

} // namespace snagmap
