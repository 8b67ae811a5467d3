#include "viz/corner_fit.hpp"

#include <Eigen/Eigenvalues>

#include <algorithm>

namespace snagmap {
namespace {
// Directions seen with less than this share of the planes' weight count as not fixed: a wall curved by 10 degrees
// within a cell gives 0.008, a true edge of 30 degrees 0.07.
constexpr double kFixedShare = 0.02;
} // namespace

void CornerFit::add(Vec3 place, Vec3 normal) {
  a_[0] += normal.x * normal.x;
  a_[1] += normal.x * normal.y;
  a_[2] += normal.x * normal.z;
  a_[3] += normal.y * normal.y;
  a_[4] += normal.y * normal.z;
  a_[5] += normal.z * normal.z;
  planes_ = planes_ + dot(normal, place) * normal;
  middle_sum_ = middle_sum_ + place;
  ++count_;
}

Vec3 CornerFit::solve(const Box3& cell) const {
  const Vec3 middle = (1.0 / count_) * middle_sum_;
  Eigen::Matrix3d a;
  a << a_[0], a_[1], a_[2], a_[1], a_[3], a_[4], a_[2], a_[4], a_[5];
  const Eigen::Vector3d m(middle.x, middle.y, middle.z);
  const Eigen::Vector3d b = Eigen::Vector3d(planes_.x, planes_.y, planes_.z) - a * m;
  Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> solver;
  solver.compute(a);
  Eigen::Vector3d shift = Eigen::Vector3d::Zero();
  for (int i = 0; i < 3; ++i) {
    const double weight = solver.eigenvalues()[i];
    const Eigen::Vector3d axis = solver.eigenvectors().col(i);
    if (weight > kFixedShare * count_) shift += axis * (axis.dot(b) / weight);
  }
  return {std::clamp(m.x() + shift.x(), cell.low.x, cell.high.x), std::clamp(m.y() + shift.y(), cell.low.y, cell.high.y),
          std::clamp(m.z() + shift.z(), cell.low.z, cell.high.z)};
}

} // namespace snagmap
