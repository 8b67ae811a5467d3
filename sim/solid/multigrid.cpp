#include "sim/solid/multigrid.hpp"

#include "sim/solid/coarsen.hpp"
#include "sim/solid/sweep.hpp"

#include <Eigen/SparseCholesky>

namespace snagmap {
namespace {

constexpr int kSmoothings =
    3; ///< before and after; 2 and 4 cost the same to 1e-6, 3 varies least with the mesh
constexpr std::size_t kDirectUnknowns = 1500; ///< small enough for the direct solve to cost nothing

constexpr std::size_t kTwiceFrom = 3; ///< nodes of a level over those of the next

/// Chebyshev iteration of the fourth kind (Lottes 2023, Numer. Linear Algebra Appl. 30, e2518): needs a bound
/// on the largest eigenvalue only. Step m = 1, 2, ... : x += beta (x - x_old) + gamma D^-1 (r - A x).
float momentum(int m) {
  return m == 1 ? 0 : float(2 * m - 3) / float(2 * m + 1);
}
float step(int m, double largest) {
  return float((8.0 * m - 4) / ((2 * m + 1) * largest));
}

} // namespace

struct Multigrid::Level {
  const Lattice* lattice = nullptr;
  Lattice own;              ///< of the coarser levels
  std::vector<float> other; ///< the smoother's second iterate, and the residual
  std::vector<float> r, z;  ///< right-hand side and answer of the coarser levels
  std::vector<float> first; ///< answer of the first of two visits; empty where one visit is made
};

/// Direct factorisation of the coarsest level, which is small.
struct Multigrid::Direct {
  Eigen::SimplicialLDLT<Eigen::SparseMatrix<double>> factor;
  std::vector<std::size_t> entry; ///< of each unknown, for lane 0
  Eigen::MatrixXd right;
};

Multigrid::Multigrid(const Lattice& fine, double nu, const std::vector<std::uint8_t>& fixed)
    : direct_(std::make_unique<Direct>()) {
  levels_.push_back(std::make_unique<Level>());
  levels_.back()->lattice = &fine;
  std::vector<std::uint8_t> held = fixed;
  for (;;) {
    Level& level = *levels_.back();
    const Lattice& g = *level.lattice;
    const Halving halving = choose_halving(g);
    if (g.nodes() * 3 <= kDirectUnknowns || !halving.any())
      break;
    level.other.assign(g.entries() + kSlack, 0.0f);
    held = coarse_fixed(g, halving, held);
    auto coarse = std::make_unique<Level>();
    coarse->own = make_lattice(coarse_edges(g, halving), nu, g.lanes, coarse_modulus(g, halving), held);
    coarse->lattice = &coarse->own;
    coarse->r.assign(coarse->own.entries() + kSlack, 0.0f);
    coarse->z.assign(coarse->own.entries() + kSlack, 0.0f);
    // A web thinner than a coarse brick is smeared to a thicker, softer one, several times too stiff in
    // bending: two visits from above make up for it. They are cheap where a level is much smaller than the
    // one before it.
    const bool twice = kTwiceFrom * coarse->own.nodes() <= g.nodes();
    if (twice && coarse->own.nodes() * 3 > kDirectUnknowns)
      coarse->first.assign(coarse->z.size(), 0.0f);
    levels_.push_back(std::move(coarse));
  }

  const Lattice& g = *levels_.back()->lattice;
  std::vector<int> unknown(g.nodes() * 3, -1);
  for (int k = 0; k <= g.nz; ++k)
    for (int j = 0; j <= g.ny; ++j)
      for (int i = 0; i <= g.nx; ++i)
        for (int c = 0; c < 3; ++c) {
          const std::size_t node = g.node(i, j, k);
          if (g.in_void(node) || (held[node] >> c & 1))
            continue;
          unknown[node * 3 + std::size_t(c)] = int(direct_->entry.size());
          const std::size_t row =
              (std::size_t(k) * std::size_t(g.ny + 1) + std::size_t(j)) * 3 + std::size_t(c);
          direct_->entry.push_back(row * g.stride + std::size_t(i * g.lanes));
        }
  std::vector<Eigen::Triplet<double>> triplets;
  std::array<double, 3> edge_mm{};
  std::array<double, 24 * 24> dense{};
  for (int k = 0; k < g.nz; ++k)
    for (int j = 0; j < g.ny; ++j)
      for (int i = 0; i < g.nx; ++i) {
        const double e = g.modulus[g.brick_at(i, j, k)];
        if (e == 0)
          continue;
        const std::array<double, 3> here{g.edges_mm[0][std::size_t(i)], g.edges_mm[1][std::size_t(j)],
                                         g.edges_mm[2][std::size_t(k)]};
        if (here != edge_mm)
          edge_mm = here, dense = dense_matrix(make_brick(edge_mm, nu));
        int at[24];
        for (int q = 0; q < 8; ++q)
          for (int c = 0; c < 3; ++c)
            at[3 * q + c] = unknown[g.node(i + (q & 1), j + (q >> 1 & 1), k + (q >> 2)) * 3 + std::size_t(c)];
        for (int p = 0; p < 24; ++p)
          for (int q = 0; q < 24; ++q)
            if (at[p] >= 0 && at[q] >= 0)
              triplets.emplace_back(at[p], at[q], e * dense[std::size_t(p * 24 + q)]);
      }
  const auto n = Eigen::Index(direct_->entry.size());
  Eigen::SparseMatrix<double> matrix(n, n);
  matrix.setFromTriplets(triplets.begin(), triplets.end());
  // Supports that coarsening has lost leave rigid motions; a trace of stiffness keeps the factor positive.
  for (Eigen::Index i = 0; i < n; ++i)
    matrix.coeffRef(i, i) *= 1 + 1e-7;
  direct_->factor.compute(matrix);
  direct_->right.resize(n, g.lanes);
}

Multigrid::~Multigrid() = default;

void Multigrid::apply(const float* r, float* z) {
  cycle(0, r, z);
}

namespace {

/// x_old <- the next iterate after x; rows are independent.
void smooth_step(const Lattice& g, const float* r, const float* x, float* x_old, int m) {
  const float beta = momentum(m), gamma = step(m, g.largest_eigenvalue);
  sweep<float>(g, x, [&](int j, int k, const float* y) {
    thread_local std::vector<float> inverse;
    if (inverse.size() < g.stride)
      inverse.resize(g.stride);
    for (std::size_t c = 0; c < 3; ++c) {
      expand_inverse_diagonal(g, j, k, c, inverse.data());
      const std::size_t at = (std::size_t(k) * g.plane_rows() + std::size_t(j) * 3 + c) * g.stride;
      smooth_row(g.stride, y + c * g.stride, r + at, x + at, x_old + at, inverse.data(), beta, gamma);
    }
  });
}

/// The first step from zero needs no operator. Leaves x_old = 0, the start.
void first_step(const Lattice& g, const float* r, float* x, float* x_old) {
  const float gamma = step(1, g.largest_eigenvalue);
  parallel_each(g.planes(), [&](int k) {
    thread_local std::vector<float> inverse;
    if (inverse.size() < g.stride)
      inverse.resize(g.stride);
    for (int j = 0; j <= g.ny; ++j) {
      if (!g.is_used(j, k))
        continue;
      for (std::size_t c = 0; c < 3; ++c) {
        expand_inverse_diagonal(g, j, k, c, inverse.data());
        const std::size_t at = (std::size_t(k) * g.plane_rows() + std::size_t(j) * 3 + c) * g.stride;
        scale_row(g.stride, r + at, inverse.data(), gamma, x + at);
        std::fill(x_old + at, x_old + at + g.stride, 0.0f);
      }
    }
  });
}

} // namespace

void Multigrid::smooth(const float* r, float* z) {
  const Lattice& g = *levels_.front()->lattice;
  std::vector<float> other(g.entries() + kSlack);
  float *x = z, *old = other.data();
  first_step(g, r, x, old);
  for (int m = 2; m <= kSmoothings; ++m) {
    smooth_step(g, r, x, old, m);
    std::swap(x, old);
  }
  if (x != z)
    std::copy(x, x + g.entries(), z);
}

void Multigrid::cycle(std::size_t at_level, const float* r, float* z) {
  Level& level = *levels_[at_level];
  const Lattice& g = *level.lattice;
  if (at_level + 1 == levels_.size()) {
    for (std::size_t u = 0; u < direct_->entry.size(); ++u)
      for (int l = 0; l < g.lanes; ++l)
        direct_->right(Eigen::Index(u), l) = double(r[direct_->entry[u] + std::size_t(l)]);
    std::fill(z, z + g.entries(), 0.0f);
    if (direct_->entry.empty())
      return;
    const Eigen::MatrixXd answer = direct_->factor.solve(direct_->right);
    for (std::size_t u = 0; u < direct_->entry.size(); ++u)
      for (int l = 0; l < g.lanes; ++l)
        z[direct_->entry[u] + std::size_t(l)] = float(answer(Eigen::Index(u), l));
    return;
  }

  // Two buffers in turn. The number of swaps is odd, so starting in `other` ends in z.
  float *x = level.other.data(), *old = z;
  first_step(g, r, x, old);
  for (int m = 2; m <= kSmoothings; ++m) {
    smooth_step(g, r, x, old, m);
    std::swap(x, old);
  }
  sweep<float>(g, x, [&](int j, int k, const float* y) {
    const std::size_t at = (std::size_t(k) * g.plane_rows() + std::size_t(j) * 3) * g.stride;
    subtract_row(3 * g.stride, r + at, y, old + at);
  });
  Level& coarse = *levels_[at_level + 1];
  restrict_residual(g, coarse.own, old, coarse.r.data());
  cycle(at_level + 1, coarse.r.data(), coarse.z.data());
  if (!coarse.first.empty()) { // W-cycle: B = 2 C - C A C of the coarser cycle C, symmetric as C is
    const Lattice& h = coarse.own;
    sweep<float>(h, coarse.z.data(), [&](int j, int k, const float* y) {
      const std::size_t at = (std::size_t(k) * h.plane_rows() + std::size_t(j) * 3) * h.stride;
      subtract_row(3 * h.stride, &coarse.r[at], y, &coarse.r[at]);
    });
    std::swap(coarse.first, coarse.z);
    cycle(at_level + 1, coarse.r.data(), coarse.z.data());
    const std::size_t plane = h.plane_rows() * h.stride;
    parallel_each(h.planes(), [&](int k) {
      add_row(plane, &coarse.first[std::size_t(k) * plane], &coarse.z[std::size_t(k) * plane]);
    });
  }
  add_prolonged(g, coarse.own, coarse.z.data(), x);
  for (int m = 1; m <= kSmoothings; ++m) {
    smooth_step(g, r, x, old, m);
    std::swap(x, old);
  }
}

} // namespace snagmap
