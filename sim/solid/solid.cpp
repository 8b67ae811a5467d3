#include "sim/solid/solid.hpp"

#include "sim/solid/multigrid.hpp"
#include "sim/solid/pieces.hpp"
#include "sim/solid/sweep.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <numeric>

namespace snagmap {
namespace {

using Clock = std::chrono::steady_clock;
double seconds_since(Clock::time_point start) {
  return std::chrono::duration<double>(Clock::now() - start).count();
}

Fault fault(std::string what, std::string way_out) {
  Fault f;
  f.what = std::move(what);
  f.way_out = std::move(way_out);
  return f;
}

std::vector<Fault> check(const SolidProblem& problem) {
  const BrickBox& box = problem.box;
  std::vector<Fault> faults;
  for (int a = 0; a < 3; ++a)
    if (box.bricks[a] < 1 || box.bricks[a] > 60000 || !(box.edge_mm[a] > 0) || !std::isfinite(box.edge_mm[a]))
      return {fault("a patch needs 1 to 60000 bricks with a positive edge along each axis",
                    "check the patch's size")};
  for (std::size_t a = 0; a < 3; ++a)
    if (!box.graded_mm[a].empty() &&
        (box.graded_mm[a].size() != std::size_t(box.bricks[a]) ||
         !std::all_of(box.graded_mm[a].begin(), box.graded_mm[a].end(),
                      [](double edge) { return edge > 0 && std::isfinite(edge); })))
      return {fault("the layers of a patch need one positive edge each", "check the patch's grading")};
  if (box.modulus_MPa.size() != box.brick_count() || box.fixed.size() != box.node_count())
    return {fault("the patch's arrays do not fit its bricks",
                  "one modulus for each brick, one byte for each node")};
  if (!(box.nu > -1 && box.nu < 0.5))
    faults.push_back(
        fault("Poisson's ratio " + std::to_string(box.nu) + " is outside -1 .. 0.5", "use 0 to 0.49"));
  bool any = false, good = true;
  for (const float e : box.modulus_MPa)
    any |= e > 0, good &= e >= 0 && std::isfinite(e);
  if (!good)
    faults.push_back(
        fault("a modulus is negative or not a number", "give every brick a modulus of 0 or more"));
  else if (!any)
    faults.push_back(
        fault("every modulus of the patch is zero: there is no foam in it", "check the foam's modulus E"));
  if (problem.right_hand_sides < 1 || problem.right_hand_sides > kMaxRightHandSides)
    faults.push_back(
        fault("right-hand sides must be 1 to " + std::to_string(kMaxRightHandSides), "solve in groups"));
  for (const auto* list : {&problem.loads, &problem.given})
    for (const NodeValue& v : *list)
      if (v.node >= box.node_count() || v.axis < 0 || v.axis > 2 || v.right_hand_side < 0 ||
          v.right_hand_side >= problem.right_hand_sides || !std::isfinite(v.value))
        return {fault("a load or displacement names no node, axis or right-hand side, or is not a number",
                      "check the loads")};
  for (const NodeValue& v : problem.given)
    if (!(box.fixed[v.node] >> v.axis & 1))
      return {fault("a displacement is given to a node that is free", "fix the node's component first")};
  return faults;
}

std::size_t entry_of(const Lattice& g, const NodeValue& v) {
  const auto nodes_x = std::size_t(g.nx + 1);
  return (v.node / nodes_x * 3 + std::size_t(v.axis)) * g.stride + v.node % nodes_x * std::size_t(g.lanes) +
         std::size_t(v.right_hand_side);
}

/// A sum for each right-hand side from sums for each block of rows of each plane, added in their order
/// whoever made them.
class BlockSums {
public:
  explicit BlockSums(const Lattice& g)
      : lanes_(std::size_t(g.lanes)), rows_(std::size_t(block_rows(g))),
        blocks_(std::size_t(blocks_in_plane(g))), sums_(std::size_t(g.planes()) * blocks_ * lanes_) {}
  double* of(int plane, int row) {
    return &sums_[(std::size_t(plane) * blocks_ + std::size_t(row) / rows_) * lanes_];
  }
  std::vector<double> take() {
    std::vector<double> total(lanes_);
    for (std::size_t i = 0; i < sums_.size(); ++i)
      total[i % lanes_] += sums_[i];
    std::fill(sums_.begin(), sums_.end(), 0.0);
    return total;
  }

private:
  std::size_t lanes_, rows_, blocks_;
  std::vector<double> sums_;
};

/// A factor for each right-hand side, spread over the entries of a row.
void spread(const std::vector<double>& factors, std::vector<double>& row) {
  for (std::size_t i = 0; i < row.size(); ++i)
    row[i] = factors[i % factors.size()];
}

/// Conjugate gradients for all lanes in step; a lane that is done takes steps of length 0.
class BlockCg {
public:
  BlockCg(const Lattice& g, Multigrid& precondition)
      : g_(g), precondition_(precondition), sums_(g), p_(size()), q_(size()), r_float_(size()), z_(size()) {}

  /// r comes in as the residual of x = 0, scaled to norm 1 for each lane that is loaded, and is used up.
  void run(std::vector<double>& r, std::vector<double>& x, const SolidOptions& options,
           std::vector<int>& iterations, const std::vector<bool>& loaded) {
    const std::size_t plane = g_.plane_rows() * g_.stride;
    const auto lanes = std::size_t(g_.lanes);
    std::vector<double> alpha_row(g_.stride), beta_row(g_.stride), rho(lanes), factor(lanes);
    std::vector<bool> done(lanes);
    for (std::size_t l = 0; l < lanes; ++l)
      done[l] = !loaded[l];
    each_row([&](std::size_t at, int) { std::copy_n(&r[at], g_.stride, &r_float_[at]); });
    for (int it = 0;
         it < options.max_iterations && !std::all_of(done.begin(), done.end(), [](bool d) { return d; });
         ++it) {
      precondition_.apply(r_float_.data(), z_.data());
      each_row([&](std::size_t at, int k) {
        add_dots(g_.stride, g_.lanes, &r_float_[at], &z_[at], sums_.of(k, 0));
      });
      const std::vector<double> rho_new = sums_.take();
      for (std::size_t l = 0; l < lanes; ++l)
        factor[l] = done[l] || it == 0 ? 0 : rho_new[l] / rho[l];
      rho = rho_new;
      spread(factor, beta_row);
      each_row([&](std::size_t at, int) { direct_row(g_.stride, &z_[at], beta_row.data(), &p_[at]); });
      sweep<double>(g_, p_.data(), [&](int j, int k, const double* y) {
        const std::size_t at = std::size_t(k) * plane + std::size_t(j) * 3 * g_.stride;
        std::copy(y, y + 3 * g_.stride, &q_[at]);
        for (std::size_t c = 0; c < 3; ++c)
          add_dots(g_.stride, g_.lanes, y + c * g_.stride, &p_[at + c * g_.stride], sums_.of(k, j));
      });
      const std::vector<double> curvature = sums_.take();
      for (std::size_t l = 0; l < lanes; ++l)
        factor[l] = done[l] || !(curvature[l] > 0) ? 0 : rho[l] / curvature[l];
      spread(factor, alpha_row);
      each_row([&](std::size_t at, int k) {
        advance_row(g_.stride, alpha_row.data(), &p_[at], &q_[at], &x[at], &r[at], &r_float_[at]);
        add_dots(g_.stride, g_.lanes, &r[at], &r[at], sums_.of(k, 0));
      });
      const std::vector<double> squared = sums_.take();
      for (std::size_t l = 0; l < lanes; ++l)
        if (!done[l]) {
          iterations[l] = it + 1;
          done[l] = std::sqrt(squared[l]) <= options.tolerance || !(curvature[l] > 0);
        }
    }
  }

private:
  std::size_t size() const { return g_.entries() + kSlack; }
  /// Planes in parallel, the rows of a plane that touch foam in order.
  template <class Body> void each_row(Body&& body) const {
    parallel_each(g_.planes(), [&](int k) {
      for (int j = 0; j <= g_.ny; ++j)
        for (std::size_t c = 0; g_.is_used(j, k) && c < 3; ++c)
          body((std::size_t(k) * g_.plane_rows() + std::size_t(j) * 3 + c) * g_.stride, k);
    });
  }

  const Lattice& g_;
  Multigrid& precondition_;
  BlockSums sums_;
  std::vector<double> p_, q_;
  std::vector<float> r_float_, z_;
};

/// Norm of each lane's residual b - A x, the loads given as a list; `b` scratch of the same size.
std::vector<double> true_residual(const Lattice& g, const std::vector<double>& x, std::vector<double>& b) {
  BlockSums sums(g);
  sweep<double>(g, x.data(), [&](int j, int k, const double* y) {
    const std::size_t at = (std::size_t(k) * g.plane_rows() + std::size_t(j) * 3) * g.stride;
    for (std::size_t c = 0; c < 3; ++c) {
      double* row = &b[at + c * g.stride];
      for (std::size_t i = 0; i < g.stride; ++i)
        row[i] -= y[c * g.stride + i];
      add_dots(g.stride, g.lanes, row, row, sums.of(k, j));
    }
  });
  return sums.take();
}

} // namespace

BrickBox::BrickBox(std::array<int, 3> counts, std::array<double, 3> edges_mm, double poisson, double modulus)
    : bricks(counts), edge_mm(edges_mm), nu(poisson), modulus_MPa(brick_count(), float(modulus)),
      fixed(node_count(), std::uint8_t(0)) {}

std::size_t BrickBox::brick_count() const {
  return std::size_t(bricks[0]) * std::size_t(bricks[1]) * std::size_t(bricks[2]);
}
std::size_t BrickBox::node_count() const {
  return std::size_t(bricks[0] + 1) * std::size_t(bricks[1] + 1) * std::size_t(bricks[2] + 1);
}
std::size_t BrickBox::brick(int i, int j, int k) const {
  return std::size_t(i) + std::size_t(bricks[0]) * (std::size_t(j) + std::size_t(bricks[1]) * std::size_t(k));
}
std::size_t BrickBox::node(int i, int j, int k) const {
  return std::size_t(i) +
         std::size_t(bricks[0] + 1) * (std::size_t(j) + std::size_t(bricks[1] + 1) * std::size_t(k));
}
Vec3 BrickBox::node_mm(std::size_t node) const {
  const auto x = std::size_t(bricks[0] + 1), y = std::size_t(bricks[1] + 1);
  const std::array<std::size_t, 3> at{node % x, node / x % y, node / x / y};
  std::array<double, 3> place{};
  for (std::size_t a = 0; a < 3; ++a)
    place[a] = graded_mm[a].empty()
                   ? double(at[a]) * edge_mm[a]
                   : std::accumulate(graded_mm[a].begin(), graded_mm[a].begin() + std::ptrdiff_t(at[a]), 0.0);
  return {place[0], place[1], place[2]};
}

std::vector<double> BrickBox::planes_mm(int axis) const {
  std::vector<double> planes{0};
  for (int n = 0; n < bricks[std::size_t(axis)]; ++n)
    planes.push_back(graded_mm[std::size_t(axis)].empty() ? (n + 1) * edge_mm[std::size_t(axis)]
                                                          : planes.back() + edge(axis, n));
  return planes;
}

void BrickBox::fix(BrickFace face, std::uint8_t components) {
  const int axis = int(face) / 2;
  std::array<int, 3> from{0, 0, 0}, to = bricks;
  (int(face) % 2 ? from : to)[axis] = int(face) % 2 ? bricks[axis] : 0;
  for (int k = from[2]; k <= to[2]; ++k)
    for (int j = from[1]; j <= to[1]; ++j)
      for (int i = from[0]; i <= to[0]; ++i)
        fixed[node(i, j, k)] |= components;
}

namespace {

std::vector<float> scaled_moduli(const BrickBox& box, double largest) {
  std::vector<float> modulus(box.modulus_MPa.size());
  std::transform(box.modulus_MPa.begin(), box.modulus_MPa.end(), modulus.begin(),
                 [&](float e) { return float(double(e) / largest); });
  return modulus;
}

Lattice lattice_of(const BrickBox& box, int lanes, std::vector<float> modulus) {
  BrickEdges edges;
  for (int a = 0; a < 3; ++a)
    for (int n = 0; n < box.bricks[std::size_t(a)]; ++n)
      edges[std::size_t(a)].push_back(box.edge(a, n));
  return make_lattice(std::move(edges), box.nu, lanes, std::move(modulus), box.fixed);
}

std::size_t unknowns_of(const Lattice& g, const BrickBox& box) {
  std::size_t unknowns = 0;
  for (std::size_t n = 0; n < g.nodes(); ++n)
    if (!g.in_void(n))
      unknowns += std::size_t(3 - ((box.fixed[n] & 1) + (box.fixed[n] >> 1 & 1) + (box.fixed[n] >> 2 & 1)));
  return unknowns;
}

/// Adds the loads over the largest modulus; how many stand on nodes without foam.
std::size_t add_loads(const Lattice& g, const SolidProblem& problem, double largest, std::vector<double>& b) {
  std::size_t in_void = 0;
  for (const NodeValue& v : problem.loads) {
    if (g.in_void(v.node))
      ++in_void;
    else if (!(problem.box.fixed[v.node] >> v.axis & 1))
      b[entry_of(g, v)] += v.value / largest;
  }
  return in_void;
}

/// Takes what the given displacements load from the right-hand sides; the square of each one's norm.
std::vector<double> start_residual(const Lattice& g, const SolidProblem& problem, std::vector<double>& r) {
  if (!problem.given.empty()) {
    std::vector<double> given(g.entries() + kSlack);
    for (const NodeValue& v : problem.given)
      given[entry_of(g, v)] = v.value;
    return true_residual(g, given, r);
  }
  BlockSums sums(g);
  for (std::size_t row = 0; row < g.rows(); ++row)
    add_dots(g.stride, g.lanes, &r[row * g.stride], &r[row * g.stride],
             sums.of(int(row / g.plane_rows()), 0));
  return sums.take();
}

/// Each right-hand side times its factor.
void scale_lanes(const Lattice& g, const std::vector<double>& factor, std::vector<double>& values) {
  std::vector<double> row_factor(g.stride);
  spread(factor, row_factor);
  parallel_each(g.planes(), [&](int k) {
    for (std::size_t row = std::size_t(k) * g.plane_rows(); row < std::size_t(k + 1) * g.plane_rows(); ++row)
      for (std::size_t i = 0; i < g.stride; ++i)
        values[row * g.stride + i] *= row_factor[i];
  });
}

/// Interpolation has left values in the void; they mean nothing.
void clear_void(const Lattice& g, std::vector<double>& x) {
  const auto lanes = std::size_t(g.lanes);
  parallel_each(g.planes(), [&](int k) {
    for (int j = 0; j <= g.ny; ++j)
      for (int i = 0; i <= g.nx; ++i)
        if (g.in_void(g.node(i, j, k)))
          for (std::size_t c = 0; c < 3; ++c)
            std::fill_n(&x[(std::size_t(k) * g.plane_rows() + std::size_t(j) * 3 + c) * g.stride +
                           std::size_t(i) * lanes],
                        lanes, 0.0);
  });
}

} // namespace

Outcome<SolidSolution> solve_solid(const SolidProblem& problem, const SolidOptions& options) {
  const auto start = Clock::now();
  if (std::vector<Fault> faults = check(problem); !faults.empty())
    return faults;
  const BrickBox& box = problem.box;
  // Unknowns are scaled: moduli by the largest, each right-hand side to norm 1.
  const double largest = *std::max_element(box.modulus_MPa.begin(), box.modulus_MPa.end());
  std::vector<float> modulus = scaled_moduli(box, largest);
  SolidSolution solution;
  const Pieces pieces = drop_loose_pieces(box, modulus);
  solution.bricks = pieces.bricks;
  solution.loose_pieces = pieces.loose, solution.left_out = pieces.loose_bricks;
  if (pieces.held == 0)
    return fault("nothing holds the patch: no piece of foam is fixed against every rigid motion",
                 "fix a face of the patch");
  const auto lanes = std::size_t(problem.right_hand_sides);
  const Lattice g = lattice_of(box, int(lanes), std::move(modulus));
  solution.unknowns = unknowns_of(g, box);
  Multigrid multigrid(g, box.nu, box.fixed);

  std::vector<double> x(g.entries() + kSlack), r(g.entries() + kSlack);
  solution.loads_in_void = add_loads(g, problem, largest, r);
  const std::vector<double> squared = start_residual(g, problem, r);
  std::vector<bool> loaded(lanes);
  std::vector<double> norm(lanes), factor(lanes);
  for (std::size_t l = 0; l < lanes; ++l) {
    norm[l] = std::sqrt(squared[l]);
    loaded[l] = norm[l] > 0;
    factor[l] = loaded[l] ? 1 / norm[l] : 0;
  }
  scale_lanes(g, factor, r);
  solution.setup_s = seconds_since(start);
  solution.iterations.assign(lanes, 0);
  BlockCg(g, multigrid).run(r, x, options, solution.iterations, loaded);

  scale_lanes(g, norm, x);
  clear_void(g, x);
  for (const NodeValue& v : problem.given)
    x[entry_of(g, v)] = v.value;
  std::fill(r.begin(), r.end(), 0.0);
  add_loads(g, problem, largest, r);
  const std::vector<double> left = true_residual(g, x, r);
  solution.converged = true;
  for (std::size_t l = 0; l < lanes; ++l) {
    solution.residual.push_back(loaded[l] ? std::sqrt(left[l]) / norm[l] : 0);
    // 1.1: the running residual met the tolerance; the true one may differ in its last digits.
    solution.converged &= solution.residual[l] <= 1.1 * options.tolerance;
  }
  solution.values_ = std::move(x);
  solution.nodes_x_ = std::size_t(g.nx + 1);
  solution.stride_ = g.stride;
  solution.lanes_ = lanes;
  solution.solve_s = seconds_since(start) - solution.setup_s;
  return solution;
}

std::array<double, 6> stress_MPa(const BrickBox& box, const SolidSolution& solution, int i, int j, int k,
                                 int right_hand_side) {
  double gradient[3][3] = {}; // d u_a / d x_b
  const double edges[3] = {box.edge(0, i), box.edge(1, j), box.edge(2, k)};
  for (int q = 0; q < 8; ++q) {
    const Vec3 u = solution.u_mm_at(box.node(i + (q & 1), j + (q >> 1 & 1), k + (q >> 2)), right_hand_side);
    const double v[3] = {u.x, u.y, u.z};
    for (int a = 0; a < 3; ++a)
      for (int b = 0; b < 3; ++b)
        gradient[a][b] += (q >> b & 1 ? 0.25 : -0.25) * v[a] / edges[b];
  }
  const double e = box.modulus_MPa[box.brick(i, j, k)];
  const double mu = e * 0.5 / (1 + box.nu), lambda = e * box.nu / ((1 + box.nu) * (1 - 2 * box.nu));
  const double volume = lambda * (gradient[0][0] + gradient[1][1] + gradient[2][2]);
  return {volume + 2 * mu * gradient[0][0],       volume + 2 * mu * gradient[1][1],
          volume + 2 * mu * gradient[2][2],       mu * (gradient[0][1] + gradient[1][0]),
          mu * (gradient[1][2] + gradient[2][1]), mu * (gradient[0][2] + gradient[2][0])};
}

} // namespace snagmap
