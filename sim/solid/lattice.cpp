#include "sim/solid/lattice.hpp"

#include "sim/threads/parallel.hpp"

#include <algorithm>

namespace snagmap {
namespace {

std::array<std::vector<float>, 3> inverse_diagonals(const Lattice& g) {
  std::array<std::vector<float>, 3> inverse;
  for (std::vector<float>& of : inverse)
    of.resize(g.nodes());
  parallel_each(g.planes(), [&](int k) {
    std::vector<double> row(std::size_t(g.nx) + 2); // a void brick on either end
    for (int j = 0; j <= g.ny; ++j)
      for (std::size_t c = 0; c < 3; ++c) {
        std::fill(row.begin(), row.end(), 0.0);
        for (int kk = std::max(k - 1, 0); kk <= std::min(k, g.nz - 1); ++kk)
          for (int jj = std::max(j - 1, 0); jj <= std::min(j, g.ny - 1); ++jj) {
            const float* e = &g.modulus[g.brick_at(0, jj, kk)];
            const double plain = g.kind(jj, kk).plain[c], over_x2 = g.kind(jj, kk).over_x2[c];
            for (int i = 0; i < g.nx; ++i) {
              const double a = g.edges_mm[0][std::size_t(i)];
              row[std::size_t(i) + 1] += double(e[i]) * (a * plain + over_x2 / a);
            }
          }
        float* out = &inverse[c][g.node(0, j, k)];
        for (int i = 0; i <= g.nx; ++i) {
          const double sum = row[std::size_t(i)] + row[std::size_t(i) + 1];
          out[i] = sum > 0 ? float(1 / sum) : 0;
        }
      }
  });
  return inverse;
}

/// The different values, and where in them each one stands.
std::vector<double> kinds_of(const std::vector<double>& values, std::vector<int>& place, int step) {
  std::vector<double> kinds = values;
  std::sort(kinds.begin(), kinds.end());
  kinds.erase(std::unique(kinds.begin(), kinds.end()), kinds.end());
  for (const double value : values)
    place.push_back(step * int(std::lower_bound(kinds.begin(), kinds.end(), value) - kinds.begin()));
  return kinds;
}

} // namespace

Lattice make_lattice(std::array<int, 3> bricks, std::array<double, 3> edge_mm, double nu, int lanes,
                     std::vector<float> modulus, const std::vector<std::uint8_t>& fixed) {
  BrickEdges edges;
  for (std::size_t a = 0; a < 3; ++a)
    edges[a].assign(std::size_t(bricks[a]), edge_mm[a]);
  return make_lattice(std::move(edges), nu, lanes, std::move(modulus), fixed);
}

Lattice make_lattice(BrickEdges edges_mm, double nu, int lanes, std::vector<float> modulus,
                     const std::vector<std::uint8_t>& fixed) {
  Lattice g;
  g.nx = int(edges_mm[0].size()), g.ny = int(edges_mm[1].size()), g.nz = int(edges_mm[2].size());
  g.lanes = lanes;
  g.edges_mm = std::move(edges_mm);
  const std::size_t used = std::size_t(g.nx + 1) * std::size_t(lanes);
  g.stride = (used + kSimdBlock - 1) / kSimdBlock * kSimdBlock;
  g.edge_x.assign(g.stride, 1), g.inverse_x.assign(g.stride, 1);
  for (std::size_t i = 0; i < std::size_t(g.nx); ++i) {
    std::fill_n(&g.edge_x[i * std::size_t(lanes)], lanes, g.edges_mm[0][i]);
    std::fill_n(&g.inverse_x[i * std::size_t(lanes)], lanes, 1 / g.edges_mm[0][i]);
  }
  g.edge_x_float.assign(g.edge_x.begin(), g.edge_x.end());
  g.inverse_x_float.assign(g.inverse_x.begin(), g.inverse_x.end());
  std::vector<int> unused;
  const std::vector<double> x = kinds_of(g.edges_mm[0], unused, 1), y = kinds_of(g.edges_mm[1], g.kind_y, 1),
                            z = kinds_of(g.edges_mm[2], g.kind_z, int(y.size()));
  for (const double edge_z : z)
    for (const double edge_y : y) {
      g.kinds.push_back(make_brick_row(edge_y, edge_z, nu));
      for (const double edge_x : x)
        g.largest_eigenvalue =
            std::max(g.largest_eigenvalue, largest_scaled_eigenvalue({edge_x, edge_y, edge_z}, nu));
    }
  g.modulus = std::move(modulus);
  g.inverse_diagonal = inverse_diagonals(g);
  const auto any = [](const float* row, int n) {
    return std::uint8_t(std::any_of(row, row + n, [](float v) { return v > 0; }));
  };
  for (int k = 0; k < g.nz; ++k)
    for (int j = 0; j < g.ny; ++j)
      g.foam_row.push_back(any(&g.modulus[g.brick_at(0, j, k)], g.nx));
  for (int k = 0; k <= g.nz; ++k)
    for (int j = 0; j <= g.ny; ++j)
      g.used_row.push_back(any(&g.inverse_diagonal[0][g.node(0, j, k)], g.nx + 1));
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
