#include "sim/solid/coarsen.hpp"

#include "sim/solid/sweep.hpp"

#include <algorithm>

namespace snagmap {
namespace {

constexpr double kFlattest = 2.5;          ///< edge over thickness that point smoothing still handles
constexpr std::size_t kDirectThin = 30000; ///< unknowns of a plate that factor in well under a second

/// Coarse nodes next to a fine one along one axis, one or two, and their weights.
struct Parents {
  int at[2];
  int count;
  float weight[2];
};
Parents parents(const Lattice& g, std::size_t axis, bool halved, int fine) {
  if (!halved)
    return {{fine, fine}, 1, {1, 0}};
  if (fine % 2 == 0)
    return {{fine / 2, fine / 2}, 1, {1, 0}};
  const std::vector<double>& edges = g.edges_mm[axis];
  const auto after = std::size_t(fine); // on the last plane the padding is as wide as the last brick
  const double low = edges[after - 1], high = after < edges.size() ? edges[after] : low;
  const float up = float(low / (low + high));
  return {{fine / 2, fine / 2 + 1}, 2, {1 - up, up}};
}

Halving between(const Lattice& fine, const Lattice& coarse) {
  return {{coarse.nx != fine.nx, coarse.ny != fine.ny, coarse.nz != fine.nz}};
}

std::size_t row_at(const Lattice& g, int j, int k, std::size_t c) {
  return ((std::size_t(k) * std::size_t(g.ny + 1) + std::size_t(j)) * 3 + c) * g.stride;
}

} // namespace

Halving choose_halving(const Lattice& fine) {
  const std::array<int, 3> n{fine.nx, fine.ny, fine.nz};
  std::array<double, 3> edge_mm;
  for (std::size_t a = 0; a < 3; ++a)
    edge_mm[a] = *std::min_element(fine.edges_mm[a].begin(), fine.edges_mm[a].end());
  double shortest = 0;
  for (std::size_t a = 0; a < 3; ++a)
    if (n[a] >= 2 && (shortest == 0 || edge_mm[a] < shortest))
      shortest = edge_mm[a];
  Halving halving;
  for (std::size_t a = 0; a < 3; ++a) // 1.5: halving then leaves edges within a factor of 1.5 of each other
    halving.axis[a] = n[a] >= 2 && edge_mm[a] <= 1.5 * shortest;
  // A plate or bar one brick thick: bricks much longer than thick cannot be smoothed point by point, and its
  // direct solve is cheap, since the thin way adds no fill.
  for (std::size_t a = 0; a < 3; ++a)
    if (n[a] == 1 && 2 * shortest > kFlattest * edge_mm[a] && fine.nodes() * 3 <= kDirectThin)
      return {};
  return halving;
}

BrickEdges coarse_edges(const Lattice& fine, const Halving& halving) {
  BrickEdges coarse = fine.edges_mm;
  for (std::size_t a = 0; a < 3; ++a) {
    if (!halving.axis[a])
      continue;
    coarse[a].clear();
    for (std::size_t n = 0; n < fine.edges_mm[a].size(); n += 2)
      coarse[a].push_back(fine.edges_mm[a][n] +
                          fine.edges_mm[a][std::min(n + 1, fine.edges_mm[a].size() - 1)]);
  }
  return coarse;
}

std::vector<float> coarse_modulus(const Lattice& fine, const Halving& halving) {
  const BrickEdges edges = coarse_edges(fine, halving);
  const int nx = int(edges[0].size()), ny = int(edges[1].size()), nz = int(edges[2].size());
  const int sx = halving.axis[0] + 1, sy = halving.axis[1] + 1, sz = halving.axis[2] + 1;
  const auto share = [&](std::size_t axis, int fine_at, int coarse_at) {
    return fine.edges_mm[axis][std::size_t(fine_at)] / edges[axis][std::size_t(coarse_at)];
  };
  std::vector<float> along(static_cast<std::size_t>(fine.nx));
  for (int i = 0; i < fine.nx; ++i)
    along[std::size_t(i)] = float(share(0, i, i / sx));
  std::vector<float> mean(std::size_t(nx) * std::size_t(ny) * std::size_t(nz));
  parallel_each(nz, [&](int k) {
    for (int j = 0; j < ny; ++j) {
      float* out = &mean[std::size_t(nx) * (std::size_t(j) + std::size_t(ny) * std::size_t(k))];
      for (int kk = k * sz; kk < std::min((k + 1) * sz, fine.nz); ++kk)
        for (int jj = j * sy; jj < std::min((j + 1) * sy, fine.ny); ++jj) {
          const float* e = &fine.modulus[fine.brick_at(0, jj, kk)];
          const float weight = float(share(1, jj, j) * share(2, kk, k));
          for (int i = 0; i < fine.nx; ++i)
            out[i / sx] += weight * along[std::size_t(i)] * e[i];
        }
    }
  });
  return mean;
}

std::vector<std::uint8_t> coarse_fixed(const Lattice& fine, const Halving& halving,
                                       const std::vector<std::uint8_t>& fixed) {
  const BrickEdges edges = coarse_edges(fine, halving);
  const std::array<int, 3> n{int(edges[0].size()), int(edges[1].size()), int(edges[2].size())};
  std::vector<std::uint8_t> held(std::size_t(n[0] + 1) * std::size_t(n[1] + 1) * std::size_t(n[2] + 1));
  const std::array<int, 3> last{fine.nx, fine.ny, fine.nz};
  // On the last plane of an odd axis only the padded end is held: holding both would shorten the body.
  const auto holders = [&](int axis, int i) {
    Parents p = parents(fine, std::size_t(axis), halving.axis[axis], i);
    if (p.count == 2 && i == last[axis])
      p.at[0] = p.at[1], p.count = 1;
    return p;
  };
  for (int k = 0; k <= fine.nz; ++k)
    for (int j = 0; j <= fine.ny; ++j)
      for (int i = 0; i <= fine.nx; ++i) {
        const std::uint8_t f = fixed[fine.node(i, j, k)];
        if (!f)
          continue;
        const Parents px = holders(0, i), py = holders(1, j), pz = holders(2, k);
        for (int c = 0; c < pz.count; ++c)
          for (int b = 0; b < py.count; ++b)
            for (int a = 0; a < px.count; ++a)
              held[std::size_t(px.at[a]) +
                   std::size_t(n[0] + 1) *
                       (std::size_t(py.at[b]) + std::size_t(n[1] + 1) * std::size_t(pz.at[c]))] |= f;
      }
  return held;
}

void add_prolonged(const Lattice& fine, const Lattice& coarse, const float* c, float* x) {
  const Halving halving = between(fine, coarse);
  const auto lanes = std::size_t(fine.lanes);
  std::vector<float> up(static_cast<std::size_t>(fine.nx + 1)); // weight of the upper parent of an odd node
  for (int i = 1; i <= fine.nx; i += 2)
    up[std::size_t(i)] = parents(fine, 0, halving.axis[0], i).weight[1];
  parallel_each(fine.planes(), [&](int k) {
    thread_local std::vector<float> mean;
    if (mean.size() < coarse.stride + kSlack)
      mean.resize(coarse.stride + kSlack);
    const Parents pz = parents(fine, 2, halving.axis[2], k);
    for (int j = 0; j <= fine.ny; ++j) {
      if (!fine.is_used(j, k))
        continue;
      const Parents py = parents(fine, 1, halving.axis[1], j);
      for (std::size_t comp = 0; comp < 3; ++comp) {
        const float* m = c + row_at(coarse, py.at[0], pz.at[0], comp);
        if (pz.count * py.count > 1) {
          float* sum = mean.data();
          std::fill(sum, sum + coarse.stride, 0.0f);
          for (int b = 0; b < pz.count; ++b)
            for (int a = 0; a < py.count; ++a) {
              const float* row = c + row_at(coarse, py.at[a], pz.at[b], comp);
              const float weight = py.weight[a] * pz.weight[b];
              for (std::size_t i = 0; i < coarse.stride; ++i)
                sum[i] += weight * row[i];
            }
          m = sum;
        }
        float* out = x + row_at(fine, j, k, comp);
        if (!halving.axis[0]) {
          for (std::size_t i = 0; i < fine.stride; ++i)
            out[i] += m[i];
        } else if (lanes == 1) {
          for (int i = 0; i <= fine.nx; i += 2)
            out[i] += m[i / 2];
          for (int i = 1; i <= fine.nx; i += 2)
            out[i] += m[i / 2] + up[std::size_t(i)] * (m[i / 2 + 1] - m[i / 2]);
        } else {
          for (int i = 0; i <= fine.nx; ++i) {
            const float* lo = m + std::size_t(i / 2) * lanes;
            const float* hi = m + std::size_t((i + 1) / 2) * lanes;
            const float weight = up[std::size_t(i)];
            for (std::size_t l = 0; l < lanes; ++l)
              out[std::size_t(i) * lanes + l] += lo[l] + weight * (hi[l] - lo[l]);
          }
        }
        clear_fixed(fine, row_at(fine, j, k, comp) / fine.stride, out);
      }
    }
  });
}

void restrict_residual(const Lattice& fine, const Lattice& coarse, const float* r, float* r_c) {
  const Halving halving = between(fine, coarse);
  const auto lanes = std::size_t(fine.lanes);
  // Fine nodes around a coarse one, 2J-1, 2J, 2J+1, with the weights the coarse one has in theirs.
  struct Children {
    int from, to;
    float weight[3];
  };
  const auto children = [&](std::size_t axis, int at, int last) -> Children {
    if (!halving.axis[axis])
      return {at, at, {1, 0, 0}};
    Children out{std::max(2 * at - 1, 0), std::min(2 * at + 1, last), {}};
    for (int n = out.from; n <= out.to; ++n) {
      const Parents p = parents(fine, axis, true, n);
      out.weight[n - out.from] = p.count == 1 ? 1 : p.weight[p.at[1] == at];
    }
    return out;
  };
  std::vector<float> lower(static_cast<std::size_t>(coarse.nx + 1)), upper = lower; // weights along x
  for (int i = 0; halving.axis[0] && i <= coarse.nx; ++i) {
    if (i > 0)
      lower[std::size_t(i)] = parents(fine, 0, true, 2 * i - 1).weight[1];
    if (2 * i + 1 <= fine.nx)
      upper[std::size_t(i)] = parents(fine, 0, true, 2 * i + 1).weight[0];
  }
  parallel_each(coarse.planes(), [&](int k) {
    thread_local std::vector<float> sum;
    if (sum.size() < fine.stride + kSlack)
      sum.resize(fine.stride + kSlack);
    const Children cz = children(2, k, fine.nz);
    for (int j = 0; j <= coarse.ny; ++j) {
      if (!coarse.is_used(j, k))
        continue;
      const Children cy = children(1, j, fine.ny);
      for (std::size_t comp = 0; comp < 3; ++comp) {
        std::fill(sum.begin(), sum.begin() + std::ptrdiff_t(fine.stride), 0.0f);
        for (int kk = cz.from; kk <= cz.to; ++kk)
          for (int jj = cy.from; jj <= cy.to; ++jj) {
            const float weight = cz.weight[kk - cz.from] * cy.weight[jj - cy.from];
            const float* row = r + row_at(fine, jj, kk, comp);
            for (std::size_t i = 0; i < fine.stride; ++i)
              sum[i] += weight * row[i];
          }
        float* out = r_c + row_at(coarse, j, k, comp);
        if (!halving.axis[0]) {
          std::copy(sum.begin(), sum.begin() + std::ptrdiff_t(fine.stride), out);
        } else {
          const auto at = [&](int i, std::size_t l) {
            return i < 0 || i > fine.nx ? 0.0f : sum[std::size_t(i) * lanes + l];
          };
          for (int i = 0; i <= coarse.nx; ++i)
            for (std::size_t l = 0; l < lanes; ++l)
              out[std::size_t(i) * lanes + l] = at(2 * i, l) + lower[std::size_t(i)] * at(2 * i - 1, l) +
                                                upper[std::size_t(i)] * at(2 * i + 1, l);
        }
        clear_fixed(coarse, row_at(coarse, j, k, comp) / coarse.stride, out);
      }
    }
  });
}

} // namespace snagmap
