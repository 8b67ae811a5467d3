#include "sim/solid/lattice.hpp"

#include "sim/threads/parallel.hpp"

#include <algorithm>

namespace snagmap {
namespace {

std::vector<float> inverse_sums(const Lattice& g) {
  std::vector<float> inverse(g.nodes());
  parallel_each(g.planes(), [&](int k) {
    std::vector<float> row(std::size_t(g.nx) + 2); // a void brick on either end
    for (int j = 0; j <= g.ny; ++j) {
      std::fill(row.begin(), row.end(), 0.0f);
      for (int kk = std::max(k - 1, 0); kk <= std::min(k, g.nz - 1); ++kk)
        for (int jj = std::max(j - 1, 0); jj <= std::min(j, g.ny - 1); ++jj) {
          const float* e = &g.modulus[g.brick_at(0, jj, kk)];
          for (int i = 0; i < g.nx; ++i)
            row[std::size_t(i) + 1] += e[i];
        }
      float* out = &inverse[g.node(0, j, k)];
      for (int i = 0; i <= g.nx; ++i) {
        const float sum = row[std::size_t(i)] + row[std::size_t(i) + 1];
        out[i] = sum > 0 ? 1 / sum : 0;
      }
    }
  });
  return inverse;
}

} // namespace

Lattice make_lattice(std::array<int, 3> bricks, std::array<double, 3> edge_mm, double nu, int lanes,
                     std::vector<float> modulus, const std::vector<std::uint8_t>& fixed) {
  Lattice g;
  g.nx = bricks[0], g.ny = bricks[1], g.nz = bricks[2];
  g.lanes = lanes;
  g.edge_mm = edge_mm;
  const std::size_t used = std::size_t(g.nx + 1) * std::size_t(lanes);
  g.stride = (used + kSimdBlock - 1) / kSimdBlock * kSimdBlock;
  g.brick = make_brick(edge_mm, nu);
  const auto narrow = [](const auto& from, auto& to) {
    std::copy(std::begin(from), std::end(from), std::begin(to));
  };
  narrow(g.brick.modes.stretch, g.modes_float.stretch);
  narrow(g.brick.modes.shear, g.modes_float.shear);
  narrow(g.brick.modes.bend, g.modes_float.bend);
  narrow(g.brick.modes.twist, g.modes_float.twist);
  narrow(g.brick.modes.cube, g.modes_float.cube);
  for (int c = 0; c < 3; ++c)
    g.inverse_diagonal[c] = float(1 / g.brick.diagonal[c]);
  g.modulus = std::move(modulus);
  g.inverse_sum = inverse_sums(g);
  const auto any = [](const float* row, int n) {
    return std::uint8_t(std::any_of(row, row + n, [](float v) { return v > 0; }));
  };
  for (int k = 0; k < g.nz; ++k)
    for (int j = 0; j < g.ny; ++j)
      g.foam_row.push_back(any(&g.modulus[g.brick_at(0, j, k)], g.nx));
  for (int k = 0; k <= g.nz; ++k)
    for (int j = 0; j <= g.ny; ++j)
      g.used_row.push_back(any(&g.inverse_sum[g.node(0, j, k)], g.nx + 1));
  g.fixed_begin.reserve(g.rows() + 1);
  for (int k = 0; k <= g.nz; ++k)
    for (int j = 0; j <= g.ny; ++j) {
      const std::uint8_t* row = &fixed[g.node(0, j, k)];
      const bool some = std::any_of(row, row + g.nx + 1, [](std::uint8_t f) { return f != 0; });
      for (int c = 0; c < 3; ++c) {
        g.fixed_begin.push_back(std::uint32_t(g.fixed_x.size()));
        for (int i = 0; some && i <= g.nx; ++i)
          if (row[i] >> c & 1)
            g.fixed_x.push_back(std::uint16_t(i));
      }
    }
  g.fixed_begin.push_back(std::uint32_t(g.fixed_x.size()));
  return g;
}

} // namespace snagmap
