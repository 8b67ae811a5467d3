// The compliance of a wall's slices from fewer solves than slices.
#pragma once

#include "models/mechanics/snag.hpp"

#include <vector>

namespace snagmap {

using SliceVector = std::array<double, kSlices>;

/// `count` orthonormal load patterns over the slices: constant, linear, square ..., the smooth ones, of which
/// a wall's first modes are made, times `weight`. Fewer where fewer slices have a weight.
std::vector<SliceVector> smooth_patterns(int count, const SliceVector& weight);

/// Adds what is new in a load pattern to orthonormal ones; nothing where they span it already.
void add_pattern(SliceVector pattern, std::vector<SliceVector>& patterns);

/// The symmetric matrix next to `guess` (least change, Frobenius; Powell 1970) that answers each pattern with
/// its known answer. `patterns` orthonormal; answers of a symmetric matrix. What no pattern spans stays the
/// guess's, scaled as the patterns ask.
SliceMatrix with_known(const SliceMatrix& guess, const std::vector<SliceVector>& patterns,
                       const std::vector<SliceVector>& answers);

SliceVector times(const SliceMatrix& matrix, const SliceVector& pattern);
double dot(const SliceVector& a, const SliceVector& b);

} // namespace snagmap
