#include "sim/solid/coarsen.hpp"

#include "sim/solid/sweep.hpp"

namespace snagmap {
namespace {

constexpr double kFlattest = 2.5;          ///< edge over thickness that point smoothing still handles
constexpr std::size_t kDirectThin = 30000; ///< unknowns of a plate that factor in well under a second

/// Coarse nodes next to a fine one along one axis, with equal weights: one or two.
struct Parents {
  int at[2];
  int count;
  float weight() const { return count == 1 ? 1.0f : 0.5f; }
};
Parents parents(bool halved, int fine) {
  if (!halved)
    return {{fine, fine}, 1};
  if (fine % 2 == 0)
    return {{fine / 2, fine / 2}, 1};
  return {{fine / 2, fine / 2 + 1}, 2};
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
  double shortest = 0;
  for (int a = 0; a < 3; ++a)
    if (n[a] >= 2 && (shortest == 0 || fine.edge_mm[a] < shortest))
      shortest = fine.edge_mm[a];
  Halving halving;
  for (int a = 0; a < 3; ++a) // 1.5: halving then leaves edges within a factor of 1.5 of each other
    halving.axis[a] = n[a] >= 2 && fine.edge_mm[a] <= 1.5 * shortest;
  // A plate or bar one brick thick: bricks much longer than thick cannot be smoothed point by point, and its
  // direct solve is cheap, since the thin way adds no fill.
  for (int a = 0; a < 3; ++a)
    if (n[a] == 1 && 2 * shortest > kFlattest * fine.edge_mm[a] && fine.nodes() * 3 <= kDirectThin)
      return {};
  return halving;
}

std::array<int, 3> coarse_bricks(const Lattice& fine, const Halving& halving) {
  std::array<int, 3> n{fine.nx, fine.ny, fine.nz};
  for (int a = 0; a < 3; ++a)
    if (halving.axis[a])
      n[a] = (n[a] + 1) / 2;
  return n;
}

std::array<double, 3> coarse_edges(const Lattice& fine, const Halving& halving) {
  std::array<double, 3> edge = fine.edge_mm;
  for (int a = 0; a < 3; ++a)
    if (halving.axis[a])
      edge[a] *= 2;
  return edge;
}

std::vector<float> coarse_modulus(const Lattice& fine, const Halving& halving) {
  const auto n = coarse_bricks(fine, halving);
  const int sx = halving.axis[0] + 1, sy = halving.axis[1] + 1, sz = halving.axis[2] + 1;
  const float share = 1.0f / float(sx * sy * sz);
  std::vector<float> mean(std::size_t(n[0]) * std::size_t(n[1]) * std::size_t(n[2]));
  parallel_each(n[2], [&](int k) {
    for (int j = 0; j < n[1]; ++j) {
      float* out = &mean[std::size_t(n[0]) * (std::size_t(j) + std::size_t(n[1]) * std::size_t(k))];
      for (int kk = k * sz; kk < std::min((k + 1) * sz, fine.nz); ++kk)
        for (int jj = j * sy; jj < std::min((j + 1) * sy, fine.ny); ++jj) {
          const float* e = &fine.modulus[fine.brick_at(0, jj, kk)];
          if (sx == 1)
            for (int i = 0; i < fine.nx; ++i)
              out[i] += e[i];
          else
            for (int i = 0; i < fine.nx; ++i)
              out[i / 2] += e[i];
        }
      for (int i = 0; i < n[0]; ++i)
        out[i] *= share;
    }
  });
  return mean;
}

std::vector<std::uint8_t> coarse_fixed(const Lattice& fine, const Halving& halving,
                                       const std::vector<std::uint8_t>& fixed) {
  const auto n = coarse_bricks(fine, halving);
  std::vector<std::uint8_t> held(std::size_t(n[0] + 1) * std::size_t(n[1] + 1) * std::size_t(n[2] + 1));
  const std::array<int, 3> last{fine.nx, fine.ny, fine.nz};
  // On the last plane of an odd axis only the padded end is held: holding both would shorten the body.
  const auto holders = [&](int axis, int i) {
    Parents p = parents(halving.axis[axis], i);
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
  parallel_each(fine.planes(), [&](int k) {
    thread_local std::vector<float> mean;
    if (mean.size() < coarse.stride + kSlack)
      mean.resize(coarse.stride + kSlack);
    const Parents pz = parents(halving.axis[2], k);
    for (int j = 0; j <= fine.ny; ++j) {
      if (!fine.is_used(j, k))
        continue;
      const Parents py = parents(halving.axis[1], j);
      const float weight = pz.weight() * py.weight();
      for (std::size_t comp = 0; comp < 3; ++comp) {
        const float* m = c + row_at(coarse, py.at[0], pz.at[0], comp);
        if (weight != 1) {
          float* sum = mean.data();
          std::fill(sum, sum + coarse.stride, 0.0f);
          for (int b = 0; b < pz.count; ++b)
            for (int a = 0; a < py.count; ++a) {
              const float* row = c + row_at(coarse, py.at[a], pz.at[b], comp);
              for (std::size_t i = 0; i < coarse.stride; ++i)
                sum[i] += row[i];
            }
          for (std::size_t i = 0; i < coarse.stride; ++i)
            sum[i] *= weight;
          m = sum;
        }
        float* out = x + row_at(fine, j, k, comp);
        if (!halving.axis[0]) {
          for (std::size_t i = 0; i < fine.stride; ++i)
            out[i] += m[i];
        } else if (lanes == 1) {
          for (int i = 0; i < fine.nx / 2; ++i) {
            out[2 * i] += m[i];
            out[2 * i + 1] += 0.5f * (m[i] + m[i + 1]);
          }
          if (fine.nx % 2)
            out[fine.nx - 1] += m[fine.nx / 2], out[fine.nx] += 0.5f * (m[fine.nx / 2] + m[fine.nx / 2 + 1]);
          else
            out[fine.nx] += m[fine.nx / 2];
        } else {
          for (int i = 0; i <= fine.nx; ++i) {
            const float* lo = m + std::size_t(i / 2) * lanes;
            const float* hi = m + std::size_t((i + 1) / 2) * lanes;
            for (std::size_t l = 0; l < lanes; ++l)
              out[std::size_t(i) * lanes + l] += 0.5f * (lo[l] + hi[l]);
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
  // Fine nodes around a coarse one: 2J-1, 2J, 2J+1 with weights 1/2, 1, 1/2.
  struct Children {
    int from, to, centre;
  };
  const auto children = [](bool halved, int at, int last) -> Children {
    if (!halved)
      return {at, at, at};
    return {std::max(2 * at - 1, 0), std::min(2 * at + 1, last), 2 * at};
  };
  parallel_each(coarse.planes(), [&](int k) {
    thread_local std::vector<float> sum;
    if (sum.size() < fine.stride + kSlack)
      sum.resize(fine.stride + kSlack);
    const Children cz = children(halving.axis[2], k, fine.nz);
    for (int j = 0; j <= coarse.ny; ++j) {
      if (!coarse.is_used(j, k))
        continue;
      const Children cy = children(halving.axis[1], j, fine.ny);
      for (std::size_t comp = 0; comp < 3; ++comp) {
        std::fill(sum.begin(), sum.begin() + std::ptrdiff_t(fine.stride), 0.0f);
        for (int kk = cz.from; kk <= cz.to; ++kk)
          for (int jj = cy.from; jj <= cy.to; ++jj) {
            const float weight = (kk == cz.centre ? 1.0f : 0.5f) * (jj == cy.centre ? 1.0f : 0.5f);
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
              out[std::size_t(i) * lanes + l] = at(2 * i, l) + 0.5f * (at(2 * i - 1, l) + at(2 * i + 1, l));
        }
        clear_fixed(coarse, row_at(coarse, j, k, comp) / coarse.stride, out);
      }
    }
  });
}

} // namespace snagmap
