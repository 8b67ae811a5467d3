#include "sim/solid/pieces.hpp"

#include <Eigen/Eigenvalues>

#include <algorithm>
#include <cmath>
#include <map>

namespace snagmap {
namespace {

using Matrix6 = Eigen::Matrix<double, 6, 6>;
using Vector6 = Eigen::Matrix<double, 6, 1>;

/// Root of a brick's tree; paths are halved on the way, roots are the lowest brick of a piece.
std::uint32_t root_of(std::vector<std::uint32_t>& parent, std::uint32_t b) {
  while (parent[b] != b)
    b = parent[b] = parent[parent[b]];
  return b;
}

void join(std::vector<std::uint32_t>& parent, std::uint32_t a, std::uint32_t b) {
  a = root_of(parent, a), b = root_of(parent, b);
  if (a != b)
    parent[std::max(a, b)] = std::min(a, b);
}

/// Held when no rigid motion keeps every held component at rest: the Gram matrix of the six rigid motions,
/// seen by the held components, has full rank. Lengths are scaled by the box so that rank does not depend on
/// units.
bool holds(const Matrix6& gram) {
  const double trace = gram.trace();
  if (!(trace > 0))
    return false;
  const Eigen::SelfAdjointEigenSolver<Matrix6> solver(gram / trace, Eigen::EigenvaluesOnly);
  return solver.eigenvalues()[0] > 1e-10;
}

/// Of each brick with foam, the root of its piece: foam that hangs together by faces.
std::vector<std::uint32_t> roots_of(const BrickBox& box, const std::vector<float>& modulus) {
  const auto [nx, ny, nz] = box.bricks;
  std::vector<std::uint32_t> parent(box.brick_count());
  for (int k = 0; k < nz; ++k)
    for (int j = 0; j < ny; ++j)
      for (int i = 0; i < nx; ++i) {
        const auto b = std::uint32_t(box.brick(i, j, k));
        parent[b] = b;
        if (modulus[b] == 0)
          continue;
        if (i > 0 && modulus[box.brick(i - 1, j, k)] > 0)
          parent[b] = parent[b - 1];
        if (j > 0 && modulus[box.brick(i, j - 1, k)] > 0)
          join(parent, b, std::uint32_t(box.brick(i, j - 1, k)));
        if (k > 0 && modulus[box.brick(i, j, k - 1)] > 0)
          join(parent, b, std::uint32_t(box.brick(i, j, k - 1)));
      }
  for (std::size_t b = 0; b < modulus.size(); ++b)
    if (modulus[b] > 0)
      parent[b] = root_of(parent, std::uint32_t(b));
  return parent;
}

/// The rigid motions that the held components of a node see; `place` over the box's size.
Matrix6 motions_seen(Vec3 place, std::uint8_t fixed) {
  Matrix6 seen = Matrix6::Zero();
  const double q[3] = {place.x, place.y, place.z};
  for (int c = 0; c < 3; ++c) {
    if (!(fixed >> c & 1))
      continue;
    Vector6 row = Vector6::Zero(); // component c of translation + rotation x place
    row[c] = 1;
    row[3 + (c + 1) % 3] = q[(c + 2) % 3];
    row[3 + (c + 2) % 3] = -q[(c + 1) % 3];
    seen += row * row.transpose();
  }
  return seen;
}

struct Piece {
  std::size_t bricks = 0;
  Matrix6 gram = Matrix6::Zero();
};

/// By their roots.
std::map<std::uint32_t, Piece> pieces_of(const BrickBox& box, const std::vector<float>& modulus,
                                         const std::vector<std::uint32_t>& roots) {
  std::map<std::uint32_t, Piece> pieces;
  for (std::size_t b = 0; b < modulus.size(); ++b)
    if (modulus[b] > 0)
      ++pieces[roots[b]].bricks;
  const auto [nx, ny, nz] = box.bricks;
  const Vec3 corner = box.node_mm(box.node_count() - 1);
  const double size = std::max({corner.x, corner.y, corner.z});
  for (int k = 0; k <= nz; ++k)
    for (int j = 0; j <= ny; ++j)
      for (int i = 0; i <= nx; ++i) {
        const std::size_t node = box.node(i, j, k);
        if (!box.fixed[node])
          continue;
        const Matrix6 seen = motions_seen((1 / size) * box.node_mm(node), box.fixed[node]);
        std::uint32_t last = 0xffffffffu;
        for (int q = 0; q < 8; ++q) {
          const int bi = i - (q & 1), bj = j - (q >> 1 & 1), bk = k - (q >> 2);
          if (bi < 0 || bj < 0 || bk < 0 || bi >= nx || bj >= ny || bk >= nz)
            continue;
          const std::size_t b = box.brick(bi, bj, bk);
          if (modulus[b] == 0 || roots[b] == last)
            continue;
          last = roots[b];
          pieces[last].gram += seen;
        }
      }
  return pieces;
}

} // namespace

Pieces drop_loose_pieces(const BrickBox& box, std::vector<float>& modulus) {
  const std::vector<std::uint32_t> roots = roots_of(box, modulus);
  Pieces found;
  std::vector<std::uint32_t> loose;
  for (const auto& [root, piece] : pieces_of(box, modulus, roots))
    if (holds(piece.gram)) {
      ++found.held;
      found.bricks += piece.bricks;
    } else {
      ++found.loose;
      found.loose_bricks += piece.bricks;
      loose.push_back(root);
    }
  if (!loose.empty())
    for (std::size_t b = 0; b < modulus.size(); ++b)
      if (modulus[b] > 0 && std::binary_search(loose.begin(), loose.end(), roots[b]))
        modulus[b] = 0;
  return found;
}

} // namespace snagmap
