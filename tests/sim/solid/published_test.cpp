// The solver against handbook solutions and published benchmark cases; the source stands beside each.
#include "sim/solid/solid.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>

using namespace snagmap;

namespace {

constexpr double kPi = 3.14159265358979323846;

SolidSolution solved(const SolidProblem& problem, double tolerance = 1e-8) {
  auto outcome = solve_solid(problem, {tolerance, 200});
  EXPECT_TRUE(outcome) << (outcome ? "" : to_text(outcome.faults()[0]));
  if (!outcome)
    return {};
  EXPECT_TRUE(outcome->converged);
  return *outcome;
}

double edge_weight(int i, int n) {
  return i == 0 || i == n ? 0.5 : 1.0;
}

void for_nodes(const BrickBox& box, const std::function<void(int, int, int, std::size_t, Vec3)>& body) {
  for (int k = 0; k <= box.bricks[2]; ++k)
    for (int j = 0; j <= box.bricks[1]; ++j)
      for (int i = 0; i <= box.bricks[0]; ++i)
        body(i, j, k, box.node(i, j, k), box.node_mm(box.node(i, j, k)));
}

/// Spreads a unit force along `axis` evenly over the face x = high.
void load_end(SolidProblem& p, int axis, double force) {
  const auto [nx, ny, nz] = p.box.bricks;
  for (int k = 0; k <= nz; ++k)
    for (int j = 0; j <= ny; ++j)
      p.loads.push_back(
          {p.box.node(nx, j, k), axis, 0, force * edge_weight(j, ny) * edge_weight(k, nz) / (ny * nz)});
}

double mean_end(const SolidProblem& p, const SolidSolution& s, int axis) {
  const auto [nx, ny, nz] = p.box.bricks;
  double sum = 0;
  for (int k = 0; k <= nz; ++k)
    for (int j = 0; j <= ny; ++j)
      sum += edge_weight(j, ny) * edge_weight(k, nz) / (ny * nz) * s.u_mm(p.box.node(nx, j, k), axis);
  return sum;
}

} // namespace

// MacNeal & Harder, "A proposed standard set of problems to test finite element accuracy", Finite Elements in
// Analysis and Design 1 (1985): solid patch, E 1e6, nu 0.25, all strains 1e-3 (field from memory); stresses
// 2000 and 400 follow.
TEST(SolidPublished, ConstantStrainIsExactOnThreeEdgeRatios) {
  for (const std::array<double, 3> edges : {std::array<double, 3>{1, 1, 1}, {0.25, 0.5, 1}, {1, 0.2, 0.4}}) {
    SolidProblem p;
    p.box = BrickBox({5, 4, 6}, edges, 0.25, 1e6);
    for (const auto face : {BrickFace::x_low, BrickFace::x_high, BrickFace::y_low, BrickFace::y_high,
                            BrickFace::z_low, BrickFace::z_high})
      p.box.fix(face);
    const auto field = [](Vec3 x) {
      return std::array<double, 3>{1e-3 * (x.x + (x.y + x.z) / 2), 1e-3 * (x.y + (x.x + x.z) / 2),
                                   1e-3 * (x.z + (x.x + x.y) / 2)};
    };
    for_nodes(p.box, [&](int, int, int, std::size_t node, Vec3 x) {
      for (int a = 0; a < 3; ++a)
        if (p.box.fixed[node])
          p.given.push_back({node, a, 0, field(x)[std::size_t(a)]});
    });
    const auto s = solved(p, 1e-12);
    for_nodes(p.box, [&](int, int, int, std::size_t node, Vec3 x) {
      for (int a = 0; a < 3; ++a)
        ASSERT_NEAR(s.u_mm(node, a), field(x)[std::size_t(a)], 1e-12);
    });
    for (int k = 0; k < 6; ++k)
      for (int i = 0; i < 5; ++i) {
        const auto sigma = stress_MPa(p.box, s, i, 2, k);
        for (int c = 0; c < 6; ++c)
          EXPECT_NEAR(sigma[std::size_t(c)], c < 3 ? 2000 : 400, 1e-5);
      }
  }
}

// Layers in series (Reuss): 1 / (f1/E1 + f2/E2), any handbook on composites.
TEST(SolidPublished, LayersInSeriesAreExact) {
  SolidProblem p;
  p.box = BrickBox({8, 4, 4}, {1, 1, 1}, 0.0, 0.05);
  for (int k = 0; k < 4; ++k)
    for (int j = 0; j < 4; ++j)
      for (int i = 0; i < 3; ++i)
        p.box.modulus_MPa[p.box.brick(i, j, k)] = 0.4f;
  p.box.fix(BrickFace::x_low);
  load_end(p, axis_x, 16e-3); // 1 kPa on 16 mm2
  const double expected = 8 * 1e-3 * (3.0 / 8 / double(0.4f) + 5.0 / 8 / double(0.05f));
  EXPECT_NEAR(mean_end(p, solved(p, 1e-10), axis_x), expected, 1e-6 * expected); // moduli are held in float
}

// Timoshenko beam with Cowper's shear coefficient 10(1+nu)/(12+11nu), J. Appl. Mech. 33 (1966).
TEST(SolidPublished, CantileverIsWithinOnePercentAtEightAcross) {
  for (const double nu : {0.0, 0.3}) {
    SolidProblem p;
    p.box = BrickBox({80, 8, 8}, {0.125, 0.125, 0.125}, nu, 1);
    p.box.fix(BrickFace::x_low);
    load_end(p, axis_z, 1e-3);
    const double kappa = 10 * (1 + nu) / (12 + 11 * nu), shear = 0.5 / (1 + nu);
    const double expected = 1e-3 * (1000 / (3 * (1.0 / 12)) + 10 / (kappa * shear));
    EXPECT_NEAR(mean_end(p, solved(p), axis_z) / expected, 1, 0.01) << "nu " << nu;
  }
}

TEST(SolidPublished, GuidedWebIsWithinOnePercentAtEightAcross) {
  SolidProblem p;
  p.box = BrickBox({80, 8, 8}, {0.125, 0.125, 0.125}, 0.3, 1);
  // Neither end turns; both may swell sideways, as the beam's sections do, so only mid-lines carry the shear.
  p.box.fix(BrickFace::x_low, kFixX);
  p.box.fix(BrickFace::x_high, kFixX);
  for (int m = 0; m <= 8; ++m) {
    p.box.fixed[p.box.node(0, m, 4)] |= kFixZ;
    p.box.fixed[p.box.node(0, 4, m)] |= kFixY;
  }
  load_end(p, axis_z, 1e-3);
  EXPECT_NEAR(mean_end(p, solved(p), axis_z) / 1.0306, 1, 0.01); // F L^3/12EI + F L/kGA = 1030.6 F/(E h)
}

// Manufactured solution in a fitted box: order 2 in L2 for these bricks (any finite-element textbook).
TEST(SolidPublished, ErrorFallsWithTheSquareOfTheBrick) {
  const double nu = 0.3, mu = 0.5 / (1 + nu), lambda = nu / ((1 + nu) * (1 - 2 * nu));
  const auto s = [](double t) { return std::sin(kPi * t); };
  const auto c = [](double t) { return std::cos(kPi * t); };
  // u = (s s s, 0, s s s / 2) of (x, y, z); zero on the whole boundary.
  const auto u = [&](Vec3 x) { return s(x.x) * s(x.y) * s(x.z); };
  const auto force = [&](Vec3 x) { // -(lambda + mu) grad div u - mu laplace u
    const double p2 = kPi * kPi, sss = u(x);
    const double xx = -p2 * sss, zz = -p2 * sss;
    const double xy = p2 * c(x.x) * c(x.y) * s(x.z), xz = p2 * c(x.x) * s(x.y) * c(x.z);
    const double yz = p2 * s(x.x) * c(x.y) * c(x.z);
    return std::array<double, 3>{-(lambda + mu) * (xx + xz / 2) + 3 * p2 * mu * sss,
                                 -(lambda + mu) * (xy + yz / 2),
                                 -(lambda + mu) * (xz + zz / 2) + 3 * p2 * mu * sss / 2};
  };
  double error[3];
  const int sizes[3] = {8, 16, 32};
  for (int m = 0; m < 3; ++m) {
    const int n = sizes[m];
    const double h = 1.0 / n;
    SolidProblem p;
    p.box = BrickBox({n, n, n}, {h, h, h}, nu, 1);
    for (const auto face : {BrickFace::x_low, BrickFace::x_high, BrickFace::y_low, BrickFace::y_high,
                            BrickFace::z_low, BrickFace::z_high})
      p.box.fix(face);
    const double gauss[2] = {0.5 - 0.5 / std::sqrt(3), 0.5 + 0.5 / std::sqrt(3)};
    for (int k = 0; k < n; ++k)
      for (int j = 0; j < n; ++j)
        for (int i = 0; i < n; ++i)
          for (int q = 0; q < 8; ++q) { // consistent loads by 2 x 2 x 2 Gauss points
            const double a = gauss[q & 1], b = gauss[q >> 1 & 1], d = gauss[q >> 2];
            const auto f = force({(i + a) * h, (j + b) * h, (k + d) * h});
            for (int v = 0; v < 8; ++v) {
              const double shape =
                  (v & 1 ? a : 1 - a) * (v & 2 ? b : 1 - b) * (v & 4 ? d : 1 - d) * h * h * h / 8;
              for (int axis = 0; axis < 3; ++axis)
                p.loads.push_back({p.box.node(i + (v & 1), j + (v >> 1 & 1), k + (v >> 2)), axis, 0,
                                   shape * f[std::size_t(axis)]});
            }
          }
    const auto answer = solved(p);
    double sum = 0;
    for_nodes(p.box, [&](int, int, int, std::size_t node, Vec3 x) {
      const double exact[3] = {u(x), 0, u(x) / 2};
      for (int a = 0; a < 3; ++a)
        sum += std::pow(answer.u_mm(node, a) - exact[a], 2) * h * h * h;
    });
    error[m] = std::sqrt(sum);
  }
  EXPECT_GE(std::log2(error[0] / error[1]), 1.9);
  EXPECT_GE(std::log2(error[1] / error[2]), 1.9);
}

namespace {

/// A body between radius 1 and 2 under unit pressure inside, on a grid of n bricks a unit, one eighth (or a
/// slice of one quarter when `layers` > 0) with planes of symmetry; returns the mean ratio to the exact
/// radial displacement.
double lame_ratio(int n, int layers, const std::function<double(double)>& exact) {
  const double h = 1.0 / n;
  SolidProblem p;
  p.box = BrickBox({2 * n, 2 * n, layers ? layers : 2 * n}, {h, h, h}, 0.3, 1000);
  const auto radius = [&](double x, double y, double z) {
    return layers ? std::hypot(x, y) : std::sqrt(x * x + y * y + z * z);
  };
  p.box.fix(BrickFace::x_low, kFixX);
  p.box.fix(BrickFace::y_low, kFixY);
  p.box.fix(BrickFace::z_low, kFixZ);
  if (layers)
    p.box.fix(BrickFace::z_high, kFixZ);
  for (int k = 0; k < p.box.bricks[2]; ++k)
    for (int j = 0; j < 2 * n; ++j)
      for (int i = 0; i < 2 * n; ++i) {
        const double r = radius((i + 0.5) * h, (j + 0.5) * h, (k + 0.5) * h);
        if (r >= 1 && r <= 2)
          continue;
        p.box.modulus_MPa[p.box.brick(i, j, k)] = 0;
        if (r > 2)
          continue;
        for (int v = 0; v < 8; ++v) // pressure of the hole: integral of grad N over its bricks
          for (int axis = 0; axis < 3; ++axis) {
            const std::size_t node = p.box.node(i + (v & 1), j + (v >> 1 & 1), k + (v >> 2));
            p.loads.push_back({node, axis, 0, (v >> axis & 1 ? 1 : -1) * h * h / 4});
          }
      }
  // Loads cancel inside the hole, where no foam would carry them.
  std::vector<std::array<double, 3>> sum(p.box.node_count());
  for (const auto& load : p.loads)
    sum[load.node][std::size_t(load.axis)] += load.value;
  p.loads.clear();
  for (std::size_t node = 0; node < sum.size(); ++node)
    for (int axis = 0; axis < 3; ++axis)
      if (std::abs(sum[node][std::size_t(axis)]) > 1e-12 && !(p.box.fixed[node] >> axis & 1))
        p.loads.push_back({node, axis, 0, sum[node][std::size_t(axis)]});
  const auto s = solved(p, 1e-6);
  double ratio = 0;
  int count = 0;
  for_nodes(p.box, [&](int, int, int, std::size_t node, Vec3 x) {
    const double r = radius(x.x, x.y, x.z);
    if (r < 1.1 || r > 1.9)
      return;
    const Vec3 u = s.u_mm_at(node);
    ratio += (u.x * x.x + u.y * x.y + (layers ? 0 : u.z * x.z)) / r / exact(r);
    ++count;
  });
  return ratio / count;
}

} // namespace

// Lame's thick cylinder and sphere: Timoshenko & Goodier, Theory of Elasticity, articles 28 and 136.
TEST(SolidPublished, LameCylinderDisplacementIsWithinTwoPercent) {
  const double e = 1000, nu = 0.3;
  EXPECT_NEAR(lame_ratio(24, 2, [&](double r) { return (1 + nu) / (e * 3) * ((1 - 2 * nu) * r + 4 / r); }), 1,
              0.02);
}

TEST(SolidPublished, LameSphereDisplacementIsWithinTwoPercent) {
  const double e = 1000, nu = 0.3;
  EXPECT_NEAR(
      lame_ratio(20, 0, [&](double r) { return ((1 - 2 * nu) * r + (1 + nu) * 4 / (r * r)) / (e * 7); }), 1,
      0.02);
}

// Jaramillo, J. Appl. Mech. 17 (1950) 67: infinite cantilever plate, load on the free edge, 0.1665 P L^2/D at
// nu 0.3.
TEST(SolidPublished, JaramilloPlateIsWithinTwoPercent) {
  const double nu = 0.3, length = 1, thick = length / 32; // shear adds 0.2 %
  const int across = 32, wide = 256;                      // 8 L wide: the ends are out of reach
  SolidProblem p;
  p.box = BrickBox({wide, across, 2}, {length / across, length / across, thick / 2}, nu, 1);
  p.box.fix(BrickFace::y_low);
  for (int k = 0; k <= 2; ++k)
    p.loads.push_back({p.box.node(wide / 2, across, k), axis_z, 0, 1e-6 * edge_weight(k, 2) / 2});
  const auto s = solved(p, 1e-6);
  const double stiffness = thick * thick * thick / 12 / (1 - nu * nu);
  EXPECT_NEAR(s.u_mm(p.box.node(wide / 2, across, 1), axis_z) / (0.1665 * 1e-6 / stiffness), 1, 0.02);
}

// Saint-Venant torsion of a square bar: J = 0.1406 a^4 (Timoshenko & Goodier, article 109).
TEST(SolidPublished, SquareBarTwistsByTheHandbook) {
  const int n = 12, length = 72;
  const double h = 1.0 / n, nu = 0.3;
  SolidProblem p;
  p.box = BrickBox({length, n, n}, {h, h, h}, nu, 1);
  p.box.fix(BrickFace::x_low);
  double torque = 0;
  for (int k = 0; k <= n; ++k)
    for (int j = 0; j <= n; ++j) {
      const double y = j * h - 0.5, z = k * h - 0.5, weight = 1e-3 * edge_weight(j, n) * edge_weight(k, n);
      const std::size_t node = p.box.node(length, j, k);
      p.loads.push_back({node, axis_y, 0, -weight * z});
      p.loads.push_back({node, axis_z, 0, weight * y});
      torque += weight * (y * y + z * z);
    }
  const auto s = solved(p);
  const auto twist = [&](int i) { // from the mid-points of two faces
    return (s.u_mm(p.box.node(i, n, n / 2), axis_z) - s.u_mm(p.box.node(i, 0, n / 2), axis_z)) / 1.0;
  };
  const double rate = (twist(48) - twist(24)) / (24 * h), expected = torque / (0.5 / (1 + nu) * 0.1406);
  EXPECT_NEAR(rate / expected, 1, 0.01);
}

// MacNeal & Harder 1985, straight cantilever 6 x 0.2 x 0.1, E 1e7, nu 0.3, unit loads; answers at the tip
// from the paper's table: extension 3e-5, in-plane shear 0.1081, out-of-plane shear 0.4321. Its twist,
// 0.03208, lies 6 % under Saint-Venant's T L / G J with J = 0.2287 a b^3 for sides 2:1 (Timoshenko & Goodier,
// article 109), used here.
TEST(SolidPublished, MacNealHarderStraightBeamInItsFourLoadCases) {
  const double shear = 1e7 / 2.6, answers[4] = {3e-5, 0.1081, 0.4321, 6 / (shear * 0.2287 * 0.2 * 1e-3)};
  SolidProblem p;
  p.box = BrickBox({120, 8, 4}, {0.05, 0.025, 0.025}, 0.3, 1e7);
  p.box.fix(BrickFace::x_low);
  for (int load = 0; load < 3; ++load) {
    p.loads.clear();
    load_end(p, load, 1);
    EXPECT_NEAR(mean_end(p, solved(p, 1e-6), load) / answers[load], 1, 0.02) << "load case " << load;
  }
  p.loads.clear();
  double torque = 0;
  for (int k = 0; k <= 4; ++k)
    for (int j = 0; j <= 8; ++j) {
      const double y = j * 0.025 - 0.1, z = k * 0.025 - 0.05, weight = edge_weight(j, 8) * edge_weight(k, 4);
      p.loads.push_back({p.box.node(120, j, k), axis_y, 0, -weight * z});
      p.loads.push_back({p.box.node(120, j, k), axis_z, 0, weight * y});
      torque += weight * (y * y + z * z);
    }
  const auto s = solved(p, 1e-6);
  const double twist =
      (s.u_mm(p.box.node(120, 8, 2), axis_z) - s.u_mm(p.box.node(120, 0, 2), axis_z)) / 0.2 / torque;
  EXPECT_NEAR(twist / answers[3], 1, 0.03); // one clamped end does not warp: stiffer by about b / L
}
