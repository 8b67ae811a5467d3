// The point that lies best on several tangent planes: keeps sharp corners sharp.
#pragma once

#include "models/base/vec.hpp"

namespace snagmap {

/// Least squares of plane distances, as dual contouring has it (Ju et al. 2002, section 2.1): directions the
/// planes do not fix are left at the middle of the crossings.
class CornerFit {
public:
  void add(Vec3 place, Vec3 normal);
  /// Kept in the cell (but for 2 % of its width), so that neighbouring quads cannot fold.
  Vec3 solve(const Box3& cell) const;

private:
  double a_[6] = {};         // xx xy xz yy yz zz of the sum of n n^T
  Vec3 middle_sum_, planes_; // sum of places; sum of (n . p) n
  int count_ = 0;
  Vec3 first_normal_;
  double first_height_ = 0;
  bool flat_ = true; // all on one plane so far
};

} // namespace snagmap
