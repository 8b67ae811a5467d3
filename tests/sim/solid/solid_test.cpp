// The solver's own promises: the brick, the operator, convergence, loose pieces, threads.
#include "sim/solid/multigrid.hpp"
#include "sim/solid/solid.hpp"
#include "sim/solid/sweep.hpp"

#include <Eigen/Eigenvalues>
#include <gtest/gtest.h>
#include <tbb/global_control.h>

#include <cstring>
#include <random>

using namespace snagmap;

namespace {

SolidProblem clamped_cube(int n, double modulus = 1) {
  SolidProblem p;
  p.box = BrickBox({n, n, n}, {1, 1, 1}, 0.3, modulus);
  p.box.fix(BrickFace::z_low);
  for (int j = 0; j <= n; ++j)
    for (int i = 0; i <= n; ++i)
      p.loads.push_back({p.box.node(i, j, n), axis_x, 0, 1e-3});
  return p;
}

SolidSolution solved(const SolidProblem& problem, const SolidOptions& options = {}) {
  auto outcome = solve_solid(problem, options);
  EXPECT_TRUE(outcome) << (outcome ? "" : to_text(outcome.faults()[0]));
  if (!outcome)
    return {};
  EXPECT_TRUE(outcome->converged);
  return *outcome;
}

/// Bricks all alike, or layers of different thickness along each axis.
Lattice patchy_lattice(int nx, int ny, int nz, int lanes, std::vector<std::uint8_t>& fixed,
                       bool graded = false) {
  std::mt19937 random(7);
  std::uniform_real_distribution<float> value(0.1f, 1.0f);
  BrickBox box({nx, ny, nz}, {1, 0.7, 1.6}, 0.3, 1);
  for (auto& e : box.modulus_MPa)
    e = value(random);
  for (int k = nz / 2; k < nz; ++k)
    box.modulus_MPa[box.brick(nx / 2, ny / 2, k)] = 0;
  box.fix(BrickFace::z_low);
  box.fix(BrickFace::x_high, kFixX);
  fixed = box.fixed;
  if (graded) {
    std::uniform_real_distribution<double> edge(0.4, 1.6);
    BrickEdges edges;
    for (int a = 0; a < 3; ++a)
      for (int n = 0; n < box.bricks[std::size_t(a)]; ++n)
        edges[std::size_t(a)].push_back(edge(random));
    return make_lattice(edges, box.nu, lanes, box.modulus_MPa, box.fixed);
  }
  return make_lattice(box.bricks, box.edge_mm, box.nu, lanes, box.modulus_MPa, box.fixed);
}

template <class T> std::vector<T> random_field(const Lattice& g, unsigned seed) {
  std::mt19937 random(seed);
  std::uniform_real_distribution<double> value(-1, 1);
  std::vector<T> x(g.entries() + kSlack);
  for (std::size_t row = 0; row < g.rows(); ++row) {
    for (int i = 0; i < (g.nx + 1) * g.lanes; ++i)
      x[row * g.stride + std::size_t(i)] = T(value(random));
    clear_fixed(g, row, &x[row * g.stride]);
  }
  return x;
}

template <class T> std::vector<T> applied(const Lattice& g, const std::vector<T>& x) {
  std::vector<T> y(x.size());
  sweep<T>(g, x.data(), [&](int j, int k, const T* row) {
    std::copy(row, row + 3 * g.stride, &y[(std::size_t(k) * g.plane_rows() + std::size_t(j) * 3) * g.stride]);
  });
  return y;
}

template <class T> double dot(const std::vector<T>& a, const std::vector<T>& b) {
  double sum = 0;
  for (std::size_t i = 0; i + kSlack < a.size(); ++i)
    sum += double(a[i]) * double(b[i]);
  return sum;
}

} // namespace

TEST(Brick, HasExactlySixZeroEnergyModes) {
  for (const std::array<double, 3> edges : {std::array<double, 3>{1, 1, 1}, {2, 1, 0.5}, {0.2, 1, 3}})
    for (const double nu : {0.0, 0.3, 0.45}) {
      const auto k = dense_matrix(make_brick(edges, nu));
      const Eigen::Map<const Eigen::Matrix<double, 24, 24, Eigen::RowMajor>> matrix(k.data());
      const auto values = Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd>(matrix).eigenvalues();
      EXPECT_LT(std::abs(values[0]), 1e-13 * values[23]);
      EXPECT_LT(std::abs(values[5]), 1e-13 * values[23]);
      EXPECT_GT(values[6], 1e-6 * values[23]);
    }
}

// The bilinear mode u = xy bends the brick without parasitic shear: its energy is that of plane stress
// bending, E h^3 / 24 per unit curvature^2 ... (any handbook), here for u = x y, v = -x^2/2 reached by the
// condensed mode.
TEST(Brick, BendsWithThePlaneStressStiffness) {
  const double lx = 2, ly = 1, lz = 3, nu = 0.3;
  const auto k = dense_matrix(make_brick({lx, ly, lz}, nu));
  Eigen::VectorXd u = Eigen::VectorXd::Zero(24);
  for (int q = 0; q < 8; ++q) // u_x = curvature * x * y with curvature 1, measured from the centre
    u[3 * q] = (q & 1 ? 0.5 : -0.5) * lx * (q & 2 ? 0.5 : -0.5) * ly;
  const Eigen::Map<const Eigen::Matrix<double, 24, 24, Eigen::RowMajor>> matrix(k.data());
  // Width lz does not contract (no z displacement is given): plane strain in z, plane stress in y.
  const double expected = lx * lz * ly * ly * ly / 12 / (1 - nu * nu);
  EXPECT_NEAR(u.dot(matrix * u), expected, 1e-12 * expected);
}

TEST(Operator, EqualsTheAssembledBricks) {
  for (const bool graded : {false, true}) {
    std::vector<std::uint8_t> fixed;
    const Lattice g = patchy_lattice(5, 4, 7, 3, fixed, graded);
    const auto x = random_field<double>(g, 3);
    const auto y = applied(g, x);
    const auto at = [&](int i, int j, int k, int c, int lane) {
      return (std::size_t(k) * g.plane_rows() + std::size_t(j) * 3 + std::size_t(c)) * g.stride +
             std::size_t(i * 3 + lane);
    };
    std::vector<double> expected(x.size());
    for (int k = 0; k < g.nz; ++k)
      for (int j = 0; j < g.ny; ++j)
        for (int i = 0; i < g.nx; ++i) {
          const auto dense = dense_matrix(make_brick(
              {g.edges_mm[0][std::size_t(i)], g.edges_mm[1][std::size_t(j)], g.edges_mm[2][std::size_t(k)]},
              0.3));
          for (int lane = 0; lane < 3; ++lane)
            for (int p = 0; p < 24; ++p)
              for (int q = 0; q < 24; ++q)
                expected[at(i + (p / 3 & 1), j + (p / 3 >> 1 & 1), k + (p / 3 >> 2), p % 3, lane)] +=
                    double(g.modulus[g.brick_at(i, j, k)]) * dense[std::size_t(p * 24 + q)] *
                    x[at(i + (q / 3 & 1), j + (q / 3 >> 1 & 1), k + (q / 3 >> 2), q % 3, lane)];
        }
    for (std::size_t row = 0; row < g.rows(); ++row)
      clear_fixed(g, row, &expected[row * g.stride]);
    for (std::size_t i = 0; i < g.entries(); ++i)
      ASSERT_NEAR(y[i], expected[i], 1e-12) << i;
  }
}

TEST(Operator, IsSymmetricToMachinePrecision) {
  for (const bool graded : {false, true}) {
    std::vector<std::uint8_t> fixed;
    const Lattice g = patchy_lattice(13, 9, 11, 1, fixed, graded);
    const auto x = random_field<double>(g, 1), y = random_field<double>(g, 2);
    const double xay = dot(x, applied(g, y)), yax = dot(y, applied(g, x));
    EXPECT_NEAR(xay, yax, 1e-12 * std::sqrt(dot(x, applied(g, x)) * dot(y, applied(g, y))));
    const auto xf = random_field<float>(g, 1), yf = random_field<float>(g, 2);
    EXPECT_NEAR(dot(xf, applied(g, yf)), dot(yf, applied(g, xf)),
                1e-5 * std::sqrt(dot(xf, applied(g, xf)) * dot(yf, applied(g, yf))));
  }
}

TEST(Operator, LargestEigenvalueStaysUnderTheSingleBricksBound) {
  std::vector<std::uint8_t> fixed;
  const Lattice g = patchy_lattice(10, 8, 9, 1, fixed, true);
  auto x = random_field<double>(g, 5);
  double value = 0;
  for (int it = 0; it < 300; ++it) { // power iteration on D^-1 A
    auto y = applied(g, x);
    for (int k = 0; k <= g.nz; ++k)
      for (int j = 0; j <= g.ny; ++j)
        for (std::size_t c = 0; c < 3; ++c)
          for (int i = 0; i <= g.nx; ++i)
            y[(std::size_t(k) * g.plane_rows() + std::size_t(j) * 3 + c) * g.stride + std::size_t(i)] *=
                double(g.inverse_diagonal[c][g.node(i, j, k)]);
    value = std::sqrt(dot(y, y) / dot(x, x));
    const double scale = 1 / std::sqrt(dot(y, y));
    for (auto& v : y)
      v *= scale;
    x = y;
  }
  EXPECT_LE(value, g.largest_eigenvalue * (1 + 1e-5));
  EXPECT_GT(value, 0.5 * g.largest_eigenvalue); // and the bound is not idle
}

TEST(Multigrid, SmootherAndCycleAreSymmetric) {
  std::vector<std::uint8_t> fixed;
  const Lattice g = patchy_lattice(17, 13, 21, 1, fixed);
  Multigrid multigrid(g, 0.3, fixed);
  ASSERT_GT(multigrid.levels(), 1u);
  const auto x = random_field<float>(g, 1), y = random_field<float>(g, 2);
  std::vector<float> sx(x.size()), sy(x.size());
  multigrid.smooth(x.data(), sx.data());
  multigrid.smooth(y.data(), sy.data());
  EXPECT_NEAR(dot(x, sy), dot(y, sx), 1e-5 * std::sqrt(dot(x, sx) * dot(y, sy)));
  multigrid.apply(x.data(), sx.data());
  multigrid.apply(y.data(), sy.data());
  EXPECT_GT(dot(x, sx), 0);
  EXPECT_NEAR(dot(x, sy), dot(y, sx), 1e-5 * std::sqrt(dot(x, sx) * dot(y, sy)));
}

TEST(Solid, IterationsDoNotGrowWithTheMesh) {
  const int coarse = solved(clamped_cube(32)).iterations[0];
  const int fine = solved(clamped_cube(64)).iterations[0];
  EXPECT_LE(std::abs(fine - coarse), 2) << coarse << " at 32^3, " << fine << " at 64^3";
}

TEST(Solid, IterationsHoldUnderATenToOneModulusJump) {
  const int plain = solved(clamped_cube(32)).iterations[0];
  for (const int n : {32, 48, 64})
    for (const int layer : {n / 2, n / 4 + 3}) {
      SolidProblem p = clamped_cube(n);
      for (std::size_t b = p.box.brick(0, 0, layer); b < p.box.brick_count(); ++b)
        p.box.modulus_MPa[b] = 0.1f;
      // A jump in the middle of a coarse brick, whose mean modulus fits neither side, may cost two more.
      EXPECT_LE(std::abs(solved(p).iterations[0] - plain), layer == n / 2 ? 2 : 4)
          << n << "^3, soft from " << layer;
    }
}

TEST(Solid, SeveralRightHandSidesGiveTheSameAsOneByOne) {
  SolidProblem all = clamped_cube(13);
  all.right_hand_sides = 5;
  all.loads.clear();
  const std::size_t node[5] = {all.box.node(0, 0, 13), all.box.node(13, 4, 13), all.box.node(5, 5, 7),
                               all.box.node(3, 8, 10), all.box.node(13, 13, 1)};
  for (int r = 0; r < 5; ++r)
    all.loads.push_back({node[r], r % 3, r, 1 + double(r)});
  const SolidOptions tight{1e-10, 100};
  const auto together = solved(all, tight);
  for (int r = 0; r < 5; ++r) {
    SolidProblem one = clamped_cube(13);
    one.loads = {{node[r], r % 3, 0, 1 + double(r)}};
    const auto alone = solved(one, tight);
    for (const std::size_t n : node)
      for (int a = 0; a < 3; ++a)
        EXPECT_NEAR(together.u_mm(n, a, r), alone.u_mm(n, a), 1e-8 * std::abs(alone.u_mm(node[r], r % 3)));
  }
}

TEST(Solid, OneTwoAndFourThreadsGiveTheSameBits) {
  SolidProblem p = clamped_cube(37);
  p.right_hand_sides = 3;
  p.loads.push_back({p.box.node(3, 9, 37), axis_y, 1, 0.2});
  p.loads.push_back({p.box.node(30, 9, 20), axis_z, 2, 0.7});
  std::vector<double> first;
  for (const std::size_t threads : {1, 2, 4}) {
    tbb::global_control limit(tbb::global_control::max_allowed_parallelism, threads);
    const auto s = solved(p);
    if (first.empty())
      first = s.values_;
    ASSERT_EQ(first.size(), s.values_.size());
    EXPECT_EQ(0, std::memcmp(first.data(), s.values_.data(), first.size() * sizeof(double)))
        << threads << " threads";
  }
}

TEST(Solid, ForcesBalanceTheReactionWork) {
  // Clapeyron: work of the loads is twice the strain energy; both from the solution, sum u f = u A u.
  SolidProblem p = clamped_cube(12);
  const auto s = solved(p, {1e-11, 100});
  const Lattice g = make_lattice(p.box.bricks, p.box.edge_mm, p.box.nu, 1, p.box.modulus_MPa, p.box.fixed);
  double work = 0;
  for (const auto& load : p.loads)
    work += load.value * s.u_mm(load.node, load.axis);
  EXPECT_NEAR(dot(s.values_, applied(g, s.values_)), work, 1e-9 * work);
}

TEST(Solid, LoosePiecesAreLeftOutAndCounted) {
  SolidProblem p = clamped_cube(12);
  for (int j = 0; j < 12; ++j) // a slot right through leaves the upper half loose
    for (int i = 0; i < 12; ++i)
      p.box.modulus_MPa[p.box.brick(i, j, 6)] = 0;
  p.loads = {{p.box.node(2, 2, 6), axis_x, 0, 1}, {p.box.node(2, 2, 12), axis_x, 0, 1}};
  const auto s = solved(p);
  EXPECT_EQ(s.left_out, 12u * 12 * 5);
  EXPECT_EQ(s.bricks, 12u * 12 * 6);
  EXPECT_EQ(s.loose_pieces, 1u);
  EXPECT_EQ(s.loads_in_void, 1u); // the one on the loose half
  EXPECT_GT(s.u_mm(p.box.node(2, 2, 6), axis_x), 0);
  EXPECT_EQ(s.u_mm(p.box.node(2, 2, 12), axis_x), 0);
}

TEST(Solid, APieceThatHangsByAnEdgeOnlyIsLoose) {
  SolidProblem p;
  p.box = BrickBox({4, 4, 4}, {1, 1, 1}, 0.3, 0);
  for (int j = 0; j < 4; ++j)
    for (int i = 0; i < 2; ++i) {
      p.box.modulus_MPa[p.box.brick(i, j, 0)] = p.box.modulus_MPa[p.box.brick(i, j, 1)] = 1;
      p.box.modulus_MPa[p.box.brick(i + 2, j, 2)] = 1; // shares only the edge x = 2, z = 2
    }
  p.box.fix(BrickFace::z_low);
  p.loads = {{p.box.node(0, 0, 2), axis_x, 0, 1}};
  EXPECT_EQ(solved(p).left_out, 8u);
}

TEST(Solid, GuidedFacesHoldTogetherOnlyWhenTheyStopEveryRigidMotion) {
  SolidProblem p;
  p.box = BrickBox({6, 6, 6}, {1, 1, 1}, 0.3, 1);
  p.box.fix(BrickFace::x_low, kFixX);
  p.box.fix(BrickFace::y_low, kFixY);
  p.loads = {{p.box.node(6, 6, 6), axis_x, 0, 1}};
  EXPECT_FALSE(solve_solid(p)); // slides along z
  p.box.fix(BrickFace::z_low, kFixZ);
  EXPECT_EQ(solved(p).left_out, 0u);
}

TEST(Solid, BadInputIsOneClearFault) {
  SolidProblem p = clamped_cube(4);
  std::fill(p.box.fixed.begin(), p.box.fixed.end(), std::uint8_t(0));
  auto answer = solve_solid(p);
  ASSERT_FALSE(answer);
  EXPECT_NE(to_text(answer.faults()[0]).find("nothing holds the patch"), std::string::npos);
  answer = solve_solid(clamped_cube(4, 0));
  ASSERT_FALSE(answer);
  EXPECT_NE(to_text(answer.faults()[0]).find("every modulus of the patch is zero"), std::string::npos);
  p = clamped_cube(4);
  p.box.nu = 0.5;
  EXPECT_FALSE(solve_solid(p));
  p = clamped_cube(4);
  p.loads.push_back({p.box.node_count(), 0, 0, 1});
  EXPECT_FALSE(solve_solid(p));
  p = clamped_cube(4);
  p.loads[0].value = std::nan("");
  EXPECT_FALSE(solve_solid(p));
  p = clamped_cube(4);
  p.box.modulus_MPa[3] = -1;
  EXPECT_FALSE(solve_solid(p));
}

TEST(Solid, AnUnconvergedSolveSaysSo) {
  const auto s = solve_solid(clamped_cube(24), {1e-6, 2});
  ASSERT_TRUE(s);
  EXPECT_FALSE(s->converged);
  EXPECT_GT(s->residual[0], 1e-6);
}

TEST(Solid, NoLoadGivesNoDisplacement) {
  SolidProblem p = clamped_cube(6);
  p.loads.clear();
  EXPECT_EQ(solved(p).u_mm(p.box.node(3, 3, 6), axis_x), 0);
}

TEST(Solid, ScalingLengthsAndModuliScalesTheAnswer) {
  const auto base = solved(clamped_cube(10), {1e-10, 100});
  SolidProblem p = clamped_cube(10, 0.05);
  p.box.edge_mm = {2, 2, 2};
  const auto scaled = solved(p, {1e-10, 100});
  const std::size_t node = p.box.node(10, 3, 10); // u ~ F / (E L)
  EXPECT_NEAR(scaled.u_mm(node, 0), base.u_mm(node, 0) / (2 * double(0.05f)), 1e-8 * scaled.u_mm(node, 0));
}
