#include "sim/solid/brick.hpp"

#include <Eigen/Eigenvalues>

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

// Modes are named by bits: x 1, y 2, z 4; so xy is 3, xz 5, yz 6, xyz 7.
using Modal = std::array<std::array<double, 8>, 3>;

Modal modal_forces(const BrickModes<double>& m, const Modal& a) {
  const auto& [u, v, w] = a;
  Modal f{};
  auto& [fu, fv, fw] = f;
  fu[1] = m.stretch[0] * u[1] + m.stretch[3] * v[2] + m.stretch[4] * w[4];
  fv[2] = m.stretch[3] * u[1] + m.stretch[1] * v[2] + m.stretch[5] * w[4];
  fw[4] = m.stretch[4] * u[1] + m.stretch[5] * v[2] + m.stretch[2] * w[4];
  fu[2] = m.shear[0] * u[2] + m.shear[2] * v[1], fv[1] = m.shear[2] * u[2] + m.shear[1] * v[1];
  fu[4] = m.shear[3] * u[4] + m.shear[5] * w[1], fw[1] = m.shear[5] * u[4] + m.shear[4] * w[1];
  fv[4] = m.shear[6] * v[4] + m.shear[8] * w[2], fw[2] = m.shear[8] * v[4] + m.shear[7] * w[2];
  fu[3] = m.bend[0] * u[3] + m.bend[2] * w[6], fw[6] = m.bend[2] * u[3] + m.bend[1] * w[6];
  fu[5] = m.bend[3] * u[5] + m.bend[5] * v[6], fv[6] = m.bend[5] * u[5] + m.bend[4] * v[6];
  fv[3] = m.bend[6] * v[3] + m.bend[8] * w[5], fw[5] = m.bend[8] * v[3] + m.bend[7] * w[5];
  fu[6] = m.twist[0] * u[6] + m.twist[3] * v[5] + m.twist[4] * w[3];
  fv[5] = m.twist[3] * u[6] + m.twist[1] * v[5] + m.twist[5] * w[3];
  fw[3] = m.twist[4] * u[6] + m.twist[5] * v[5] + m.twist[2] * w[3];
  fu[7] = m.cube[0] * u[7], fv[7] = m.cube[1] * v[7], fw[7] = m.cube[2] * w[7];
  return f;
}

double sign(int mode, int corner) {
  const int both = mode & corner; // a factor of the mode is -1 at the low corner, +1 at the high one
  const int lows = mode & ~both;
  return ((lows & 1) + (lows >> 1 & 1) + (lows >> 2 & 1)) % 2 ? -1.0 : 1.0;
}

} // namespace

namespace {

BrickModes<double> modes_of(std::array<double, 3> edge_mm, double nu) {
  const double mu = 0.5 / (1 + nu), lambda = nu / ((1 + nu) * (1 - 2 * nu));
  const double normal = lambda + 2 * mu;
  const double thin = 2 * mu * lambda / normal; // lambda of plane stress
  const double X = 2 / edge_mm[0], Y = 2 / edge_mm[1], Z = 2 / edge_mm[2];
  const double v1 =
      edge_mm[0] * edge_mm[1] * edge_mm[2] / 64; // 64: the transform is used without its 1/8, twice
  const double v3 = v1 / 3, v9 = v1 / 9;         // means of xi^2 and of xi^2 eta^2

  BrickModes<double> m;
  const auto set = [](double* out, double a, double b, double c) { out[0] = a, out[1] = b, out[2] = c; };
  set(m.stretch, v1 * normal * X * X, v1 * normal * Y * Y, v1 * normal * Z * Z);
  set(m.stretch + 3, v1 * lambda * X * Y, v1 * lambda * X * Z, v1 * lambda * Y * Z);
  set(m.shear, v1 * mu * Y * Y, v1 * mu * X * X, v1 * mu * X * Y);
  set(m.shear + 3, v1 * mu * Z * Z, v1 * mu * X * X, v1 * mu * X * Z);
  set(m.shear + 6, v1 * mu * Z * Z, v1 * mu * Y * Y, v1 * mu * Y * Z);
  set(m.bend, v3 * (thin + 2 * mu) * X * X, v3 * (thin + 2 * mu) * Z * Z, v3 * thin * X * Z);
  set(m.bend + 3, v3 * (thin + 2 * mu) * X * X, v3 * (thin + 2 * mu) * Y * Y, v3 * thin * X * Y);
  set(m.bend + 6, v3 * (thin + 2 * mu) * Y * Y, v3 * (thin + 2 * mu) * Z * Z, v3 * thin * Y * Z);
  set(m.twist, v3 * mu * (Y * Y + Z * Z), v3 * mu * (X * X + Z * Z), v3 * mu * (X * X + Y * Y));
  set(m.twist + 3, v3 * mu * X * Y, v3 * mu * X * Z, v3 * mu * Y * Z);
  set(m.cube, v9 * (normal * X * X + mu * (Y * Y + Z * Z)), v9 * (normal * Y * Y + mu * (X * X + Z * Z)),
      v9 * (normal * Z * Z + mu * (X * X + Y * Y)));
  return m;
}

/// Of the 24 x 24 matrix: every mode is +1 or -1 at a corner.
std::array<double, 3> diagonal_of(const BrickModes<double>& m) {
  const auto& [stretch, shear, bend, twist, cube] = m;
  return {stretch[0] + shear[0] + shear[3] + bend[0] + bend[3] + twist[0] + cube[0],
          stretch[1] + shear[1] + shear[6] + bend[4] + bend[6] + twist[1] + cube[1],
          stretch[2] + shear[4] + shear[7] + bend[1] + bend[7] + twist[2] + cube[2]};
}

/// Of D^-1 A: the transform is orthogonal but for a factor of 8, and D the same at all corners, so the
/// eigenvalues are those of the blocks of modes.
double largest_scaled(const BrickModes<double>& m, const std::array<double, 3>& d) {
  double most = 0;
  const auto three = [&](const double* b) {
    Eigen::Matrix3d k;
    k << b[0] / d[0], b[3] / std::sqrt(d[0] * d[1]), b[4] / std::sqrt(d[0] * d[2]), 0, b[1] / d[1],
        b[5] / std::sqrt(d[1] * d[2]), 0, 0, b[2] / d[2];
    Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> solver;
    const Eigen::Matrix3d whole = k.selfadjointView<Eigen::Upper>();
    solver.compute(whole, Eigen::EigenvaluesOnly);
    most = std::max(most, solver.eigenvalues()[2]);
  };
  const auto two = [&](const double* b, int one, int other) {
    const double a = b[0] / d[std::size_t(one)], c = b[1] / d[std::size_t(other)];
    const double across = b[2] / std::sqrt(d[std::size_t(one)] * d[std::size_t(other)]);
    most = std::max(most, 0.5 * (a + c) + std::sqrt(0.25 * (a - c) * (a - c) + across * across));
  };
  three(m.stretch), three(m.twist);
  two(m.shear, 0, 1), two(m.shear + 3, 0, 2), two(m.shear + 6, 1, 2);
  two(m.bend, 0, 2), two(m.bend + 3, 0, 1), two(m.bend + 6, 1, 2);
  for (std::size_t c = 0; c < 3; ++c)
    most = std::max(most, m.cube[c] / d[c]);
  return 8 * most;
}

} // namespace

BrickRow make_brick_row(double edge_y_mm, double edge_z_mm, double nu) {
  // Every entry is quadratic in 1 / a, so two bricks tell its parts.
  const BrickModes<double> one = modes_of({1, edge_y_mm, edge_z_mm}, nu),
                           two = modes_of({2, edge_y_mm, edge_z_mm}, nu);
  BrickRow row;
  static_cast<BrickModes<double>&>(row.modes) = one;
  const auto part = [](double of_one, double of_two, double& plain, double& over_x2) {
    over_x2 = (of_one - 0.5 * of_two) / 0.75;
    plain = of_one - over_x2;
  };
  for (int c = 0; c < 2; ++c)
    part(one.twist[c + 1], two.twist[c + 1], row.modes.twist[c + 1], row.modes.twist_x[c]);
  for (int c = 0; c < 3; ++c)
    part(one.cube[c], two.cube[c], row.modes.cube[c], row.modes.cube_x[c]);
  const auto of_one = diagonal_of(one), of_two = diagonal_of(two);
  for (std::size_t c = 0; c < 3; ++c)
    part(of_one[c], of_two[c], row.plain[c], row.over_x2[c]);
  const auto narrow = [](const auto& from, auto& to) {
    std::copy(std::begin(from), std::end(from), std::begin(to));
  };
  narrow(row.modes.stretch, row.modes_float.stretch);
  narrow(row.modes.shear, row.modes_float.shear);
  narrow(row.modes.bend, row.modes_float.bend);
  narrow(row.modes.twist, row.modes_float.twist);
  narrow(row.modes.cube, row.modes_float.cube);
  narrow(row.modes.twist_x, row.modes_float.twist_x);
  narrow(row.modes.cube_x, row.modes_float.cube_x);
  return row;
}

double largest_scaled_eigenvalue(std::array<double, 3> edge_mm, double nu) {
  const BrickModes<double> modes = modes_of(edge_mm, nu);
  return largest_scaled(modes, diagonal_of(modes));
}

Brick make_brick(std::array<double, 3> edge_mm, double nu) {
  Brick brick;
  brick.modes = modes_of(edge_mm, nu);
  brick.diagonal = diagonal_of(brick.modes);
  brick.largest_eigenvalue = largest_scaled(brick.modes, brick.diagonal);
  return brick;
}

std::array<double, 24 * 24> dense_matrix(const Brick& brick) {
  std::array<double, 24 * 24> k{};
  for (int corner = 0; corner < 8; ++corner)
    for (int component = 0; component < 3; ++component) {
      Modal a{};
      for (int mode = 0; mode < 8; ++mode)
        a[component][mode] = sign(mode, corner);
      const Modal f = modal_forces(brick.modes, a);
      for (int other = 0; other < 8; ++other)
        for (int c = 0; c < 3; ++c) {
          double sum = 0;
          for (int mode = 0; mode < 8; ++mode)
            sum += sign(mode, other) * f[c][mode];
          k[(3 * other + c) * 24 + 3 * corner + component] = sum;
        }
    }
  return k;
}

} // namespace snagmap
