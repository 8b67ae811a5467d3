// The arithmetic on rows of nodes: the operator and the smoother, one SIMD loop after another.
// Loops are elementwise and sums run in fixed stripes, so the vector width of the machine changes no bit.
#pragma once

#include "sim/solid/brick.hpp"

#include <cstddef>

namespace snagmap {

constexpr std::size_t kChunk = 128; ///< entries of a row treated at once: the scratch stays in the L1 cache
constexpr int kMaxLanes = 16;

/// Four node rows around a row of bricks: (j,k), (j+1,k), (j,k+1), (j+1,k+1); components are `stride` apart.
template <class T> struct FourRows { T* at[4]; };

/// What differs along a row of bricks, one entry for each entry of a row (modulus 0 on the padding).
template <class T> struct AlongRow {
  const float* modulus;
  const T *edge_x, *inverse_x; ///< edge in x, and 1 over it
};

/// out += A_row in for the row of bricks.
/// With `first` the last row is written, not added to. `upper_only`: only the two rows at k+1 are wanted.
void add_brick_row(const RowModes<float>& modes, AlongRow<float> along, std::size_t stride, int lanes,
                   FourRows<const float> in, FourRows<float> out, bool upper_only);
void add_brick_row(const RowModes<double>& modes, AlongRow<double> along, std::size_t stride, int lanes,
                   FourRows<const double> in, FourRows<double> out, bool upper_only);

/// x_old <- x + beta (x - x_old) + gamma d (r - y): one step of the polynomial smoother, y = A x.
void smooth_row(std::size_t n, const float* y, const float* r, const float* x, float* x_old, const float* d,
                float beta, float gamma);
/// z <- gamma d r
void scale_row(std::size_t n, const float* r, const float* d, float gamma, float* z);
/// res <- r - y
void subtract_row(std::size_t n, const float* r, const float* y, float* res);
/// x += y
void add_row(std::size_t n, const float* y, float* x);
/// x += alpha p, r -= alpha q, and r once more in float; alpha has an entry for each entry.
void advance_row(std::size_t n, const double* alpha, const double* p, const double* q, double* x, double* r,
                 float* r_float);
/// p <- z + beta p
void direct_row(std::size_t n, const float* z, const double* beta, double* p);

/// sums[lane] += sum of a b over the row; `n` entries of which lane l holds l, l + lanes, ...
void add_dots(std::size_t n, int lanes, const double* a, const double* b, double* sums);
void add_dots(std::size_t n, int lanes, const float* a, const float* b, double* sums);

} // namespace snagmap
