// How a level's nodes lie in memory: rows along x, component by component, right-hand sides innermost.
#pragma once

#include "sim/solid/brick.hpp"

#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

namespace snagmap {

/// One level of the grid. A vector over it is rows() rows of `stride` numbers: row ((k (ny+1) + j) 3 + c)
/// holds component c of the nodes (., j, k), entry i * lanes + lane. Because lanes are innermost, the
/// neighbour in x is `lanes` entries on, and one loop over a row serves any number of right-hand sides, fully
/// vectorised.
struct Lattice {
  int nx = 0, ny = 0, nz = 0; ///< bricks
  int lanes = 1;              ///< right-hand sides
  std::size_t stride = 0;     ///< entries of a row, whole SIMD blocks, nodes and at least one padding brick
  std::array<double, 3> edge_mm{};
  Brick brick;
  BrickModes<float> modes_float;
  std::vector<float> modulus;         ///< of each brick over the largest, x fastest
  std::vector<float> inverse_sum;     ///< of each node: 1 / sum of the moduli around it; 0 in the void
  std::vector<std::uint8_t> foam_row; ///< of each row of bricks: any foam in it
  std::vector<std::uint8_t>
      used_row; ///< of each row of nodes: any foam around it; the others stay 0, untouched
  std::array<float, 3> inverse_diagonal{}; ///< D^-1 = inverse_diagonal[c] * inverse_sum[node]
  std::vector<std::uint32_t> fixed_begin;  ///< of each row: its slice of fixed_x
  std::vector<std::uint16_t> fixed_x;      ///< nodes of the row whose component is held

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
  bool has_foam(int j, int k) const { return foam_row[std::size_t(k) * std::size_t(ny) + std::size_t(j)]; }
  bool is_used(int j, int k) const { return used_row[std::size_t(k) * std::size_t(ny + 1) + std::size_t(j)]; }
  std::size_t nodes() const { return std::size_t(nx + 1) * std::size_t(ny + 1) * std::size_t(nz + 1); }
};

constexpr std::size_t kSimdBlock = 8;
constexpr std::size_t kSlack = 64; ///< entries after a vector that row kernels may read, never use

/// Fills in everything but the moduli's source. `fixed` holds the held components of each node as bits.
Lattice make_lattice(std::array<int, 3> bricks, std::array<double, 3> edge_mm, double nu, int lanes,
                     std::vector<float> modulus, const std::vector<std::uint8_t>& fixed);

} // namespace snagmap
