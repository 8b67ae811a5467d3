// How a level's nodes lie in memory: rows along x, component by component, right-hand sides innermost.
#pragma once

#include "sim/solid/brick.hpp"

#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

namespace snagmap {

using BrickEdges = std::array<std::vector<double>, 3>;

/// One level of the grid. A vector over it is rows() rows of `stride` numbers: row ((k (ny+1) + j) 3 + c)
/// holds component c of the nodes (., j, k), entry i * lanes + lane. Because lanes are innermost, the
/// neighbour in x is `lanes` entries on, and one loop over a row serves any number of right-hand sides, fully
/// vectorised.
struct Lattice {
  int nx = 0, ny = 0, nz = 0;  ///< bricks
  int lanes = 1;               ///< right-hand sides
  std::size_t stride = 0;      ///< entries of a row, whole SIMD blocks, nodes and at least one padding brick
  BrickEdges edges_mm;         ///< of each layer of bricks along each axis
  std::vector<BrickRow> kinds; ///< of rows of bricks, by their edges in y and z
  std::vector<int> kind_y, kind_z;       ///< the row at (j, k) is of kind kind_y[j] + kind_z[k]
  double largest_eigenvalue = 0;         ///< bound for D^-1 A: the largest of the bricks' (Brick)
  std::vector<double> edge_x, inverse_x; ///< edge in x and 1 over it, for each entry of a row
  std::vector<float> edge_x_float, inverse_x_float;
  std::vector<float> modulus; ///< of each brick over the largest, x fastest
  /// D^-1 by component, of each node; 0 in the void.
  std::array<std::vector<float>, 3> inverse_diagonal;
  std::vector<std::uint8_t> foam_row; ///< of each row of bricks: any foam in it
  std::vector<std::uint8_t>
      used_row; ///< of each row of nodes: any foam around it; the others stay 0, untouched
  std::vector<std::uint32_t> fixed_begin; ///< of each row: its slice of fixed_x
  std::vector<std::uint16_t> fixed_x;     ///< nodes of the row whose component is held

  int planes() const { return nz + 1; }
  std::size_t plane_rows() const { return std::size_t(ny + 1) * 3; }
  std::size_t rows() const { return plane_rows() * std::size_t(nz + 1); }
  std::size_t entries() const { return rows() * stride; }
  std::size_t node(int i, int j, int k) const {
    return std::size_t(i) + std::size_t(nx + 1) * (std::size_t(j) + std::size_t(ny + 1) * std::size_t(k));
  }
  std::size_t brick_at(int i, int j, int k) const {
    return std::size_t(i) + std::size_t(nx) * (std::size_t(j) + std::size_t(ny) * std::size_t(k));
  }
  const BrickRow& kind(int j, int k) const {
    return kinds[std::size_t(kind_y[std::size_t(j)] + kind_z[std::size_t(k)])];
  }
  bool in_void(std::size_t node) const { return inverse_diagonal[0][node] == 0; }
  bool has_foam(int j, int k) const { return foam_row[std::size_t(k) * std::size_t(ny) + std::size_t(j)]; }
  bool is_used(int j, int k) const { return used_row[std::size_t(k) * std::size_t(ny + 1) + std::size_t(j)]; }
  std::size_t nodes() const { return std::size_t(nx + 1) * std::size_t(ny + 1) * std::size_t(nz + 1); }
};

constexpr std::size_t kSimdBlock = 8;
constexpr std::size_t kSlack = 64; ///< entries after a vector that row kernels may read, never use

/// Fills in everything but the moduli's source. `fixed` holds the held components of each node as bits.
Lattice make_lattice(BrickEdges edges_mm, double nu, int lanes, std::vector<float> modulus,
                     const std::vector<std::uint8_t>& fixed);
/// The same with bricks all alike.
Lattice make_lattice(std::array<int, 3> bricks, std::array<double, 3> edge_mm, double nu, int lanes,
                     std::vector<float> modulus, const std::vector<std::uint8_t>& fixed);

} // namespace snagmap
