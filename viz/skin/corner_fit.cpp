#include "viz/skin/corner_fit.hpp"

#include <Eigen/Eigenvalues>

#include <algorithm>

namespace snagmap {
namespace {
// Directions seen with less than this share of the planes' weight count as not fixed: a wall curved by 10
// degrees within a cell gives 0.008, a true edge of 30 degrees 0.07.
constexpr double kFixedShare = 0.02;
constexpr int kTurns = 24;
// A vertex may stay this share of the cell's width outside it rather than leave its planes.
constexpr double kOutside = 0.02;
} // namespace

void CornerFit::add(Vec3 place, Vec3 normal) {
  const double height = dot(normal, place);
  if (count_ == 0) {
    first_normal_ = normal;
    first_height_ = height;
  }
  flat_ = flat_ && normal.x == first_normal_.x && normal.y == first_normal_.y &&
          normal.z == first_normal_.z && height == first_height_;
  a_[0] += normal.x * normal.x;
  a_[1] += normal.x * normal.y;
  a_[2] += normal.x * normal.z;
  a_[3] += normal.y * normal.y;
  a_[4] += normal.y * normal.z;
  a_[5] += normal.z * normal.z;
  planes_ = planes_ + height * normal;
  middle_sum_ = middle_sum_ + place;
  ++count_;
}

Vec3 CornerFit::solve(const Box3& cell) const {
  const Vec3 middle = (1.0 / count_) * middle_sum_;
  if (flat_)
    return middle; // most of a sheet is flat
  Eigen::Matrix3d a;
  a << a_[0], a_[1], a_[2], a_[1], a_[3], a_[4], a_[2], a_[4], a_[5];
  const Eigen::Vector3d m(middle.x, middle.y, middle.z);
  const Eigen::Vector3d b = Eigen::Vector3d(planes_.x, planes_.y, planes_.z) - a * m;
  Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> solver;
  solver.compute(a);
  // Nearest point to `from` that the fixed directions allow.
  const auto on_planes = [&](const Eigen::Vector3d& from) {
    Eigen::Vector3d to = from;
    for (int i = 0; i < 3; ++i) {
      const double weight = solver.eigenvalues()[i];
      const Eigen::Vector3d axis = solver.eigenvectors().col(i);
      if (weight > kFixedShare * count_)
        to += axis * (axis.dot(b - a * (from - m)) / weight);
    }
    return to;
  };
  const Eigen::Vector3d low(cell.low.x, cell.low.y, cell.low.z), high(cell.high.x, cell.high.y, cell.high.z);
  Eigen::Vector3d at = on_planes(m);
  // Outside its cell a free direction is slid along: turn by turn into the cell and back onto the planes.
  for (int turn = 0; turn < kTurns && ((at - low).minCoeff() < 0 || (high - at).minCoeff() < 0); ++turn)
    at = on_planes(at.cwiseMax(low).cwiseMin(high));
  const Eigen::Vector3d within = at.cwiseMax(low).cwiseMin(high);
  if ((within - at).norm() > kOutside * (high - low).head<2>().norm())
    at = within;
  return {at.x(), at.y(), at.z()};
}

} // namespace snagmap
