#include "sim/solid/brick.hpp"

#include <Eigen/Eigenvalues>

#include <algorithm>

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

Brick make_brick(std::array<double, 3> edge_mm, double nu) {
  const double mu = 0.5 / (1 + nu), lambda = nu / ((1 + nu) * (1 - 2 * nu));
  const double normal = lambda + 2 * mu;
  const double thin = 2 * mu * lambda / normal; // lambda of plane stress
  const double X = 2 / edge_mm[0], Y = 2 / edge_mm[1], Z = 2 / edge_mm[2];
  const double v1 =
      edge_mm[0] * edge_mm[1] * edge_mm[2] / 64; // 64: the transform is used without its 1/8, twice
  const double v3 = v1 / 3, v9 = v1 / 9;         // means of xi^2 and of xi^2 eta^2

  Brick brick;
  auto& m = brick.modes;
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

  const auto dense = dense_matrix(brick);
  Eigen::Matrix<double, 24, 24> scaled;
  for (int r = 0; r < 24; ++r)
    for (int c = 0; c < 24; ++c)
      scaled(r, c) = dense[r * 24 + c] / std::sqrt(dense[r * 25] * dense[c * 25]);
  brick.largest_eigenvalue =
      Eigen::SelfAdjointEigenSolver<Eigen::Matrix<double, 24, 24>>(scaled, Eigen::EigenvaluesOnly)
          .eigenvalues()[23];
  for (int c = 0; c < 3; ++c)
    brick.diagonal[c] = dense[c * 25];
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
