#include "sim/solid/rows.hpp"

#include "sim/threads/sanitiser.hpp"

#include <algorithm>

// Builds the loop once for each instruction set and picks at load time. Fused multiply-add is off for the
// whole project and no loop reassociates, so every clone gives the same bits. Sanitizers cannot run the
// resolver.
#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && !defined(__SANITIZE_ADDRESS__) &&     \
    !defined(SNAGMAP_TSAN)
#define SNAGMAP_CLONES __attribute__((target_clones("avx2", "default")))
#else
#define SNAGMAP_CLONES
#endif
#define SNAGMAP_INLINE __attribute__((always_inline)) inline

namespace snagmap {
namespace {

constexpr std::size_t kRoom = kChunk + kMaxLanes + 16;

/// Sums and differences over y and z of four rows: 0 sum, 1 difference in y, 2 in z, 3 in both.
template <class T>
SNAGMAP_INLINE void transform_yz(std::size_t n, const T* __restrict a, const T* __restrict b,
                                 const T* __restrict c, const T* __restrict d, T (*__restrict out)[kRoom]) {
  for (std::size_t i = 0; i < n; ++i) {
    const T low_sum = b[i] + a[i], low_difference = b[i] - a[i];
    const T high_sum = d[i] + c[i], high_difference = d[i] - c[i];
    out[0][i] = high_sum + low_sum;
    out[1][i] = high_difference + low_difference;
    out[2][i] = high_sum - low_sum;
    out[3][i] = high_difference - low_difference;
  }
}

/// Modal displacements to modal forces in x, brick by brick; `left` goes to the brick's low nodes, `right` to
/// its high ones.
template <class T>
SNAGMAP_INLINE void modal_row(const RowModes<T>& m, std::size_t n, std::size_t lanes,
                              const float* __restrict modulus, const T* __restrict edge_x,
                              const T* __restrict inverse_x, const T (*__restrict s)[4][kRoom],
                              T (*__restrict left)[4][kRoom], T (*__restrict right)[4][kRoom]) {
  const T(*u)[kRoom] = s[0];
  const T(*v)[kRoom] = s[1];
  const T(*w)[kRoom] = s[2];
  for (std::size_t i = 0; i < n; ++i) {
    const std::size_t o = i + lanes;
    const T d = T(modulus[i]), e = d * edge_x[i], x = inverse_x[i];
    const T xx = x * x;
    // Displacement modes times the stiffness, those over the edge in x divided by it.
    const T ux = d * (u[0][o] - u[0][i]), vx = d * (v[0][o] - v[0][i]), wx = d * (w[0][o] - w[0][i]);
    const T uy = e * (u[1][o] + u[1][i]), vy = e * (v[1][o] + v[1][i]), wy = e * (w[1][o] + w[1][i]);
    const T uz = e * (u[2][o] + u[2][i]), vz = e * (v[2][o] + v[2][i]), wz = e * (w[2][o] + w[2][i]);
    const T uxy = d * (u[1][o] - u[1][i]), vxy = e * (v[1][o] - v[1][i]), wxy = e * (w[1][o] - w[1][i]);
    const T uxz = d * (u[2][o] - u[2][i]), vxz = e * (v[2][o] - v[2][i]), wxz = e * (w[2][o] - w[2][i]);
    const T uyz = e * (u[3][o] + u[3][i]), vyz = e * (v[3][o] + v[3][i]), wyz = e * (w[3][o] + w[3][i]);
    const T uxyz = e * (u[3][o] - u[3][i]), vxyz = e * (v[3][o] - v[3][i]), wxyz = e * (w[3][o] - w[3][i]);

    const T fux = x * (m.stretch[0] * ux + m.stretch[3] * vy + m.stretch[4] * wz);
    const T fvy = m.stretch[3] * ux + m.stretch[1] * vy + m.stretch[5] * wz;
    const T fwz = m.stretch[4] * ux + m.stretch[5] * vy + m.stretch[2] * wz;
    const T fuy = m.shear[0] * uy + m.shear[2] * vx, fvx = x * (m.shear[2] * uy + m.shear[1] * vx);
    const T fuz = m.shear[3] * uz + m.shear[5] * wx, fwx = x * (m.shear[5] * uz + m.shear[4] * wx);
    const T fvz = m.shear[6] * vz + m.shear[8] * wy, fwy = m.shear[8] * vz + m.shear[7] * wy;
    const T fuxy = x * (m.bend[0] * uxy + m.bend[2] * wyz), fwyz = m.bend[2] * uxy + m.bend[1] * wyz;
    const T fuxz = x * (m.bend[3] * uxz + m.bend[5] * vyz), fvyz = m.bend[5] * uxz + m.bend[4] * vyz;
    const T fvxy = m.bend[6] * vxy + m.bend[8] * wxz, fwxz = m.bend[8] * vxy + m.bend[7] * wxz;
    const T fuyz = m.twist[0] * uyz + x * (m.twist[3] * vxz + m.twist[4] * wxy);
    const T fvxz = m.twist[3] * (x * uyz) + (m.twist[1] + xx * m.twist_x[0]) * vxz + m.twist[5] * wxy;
    const T fwxy = m.twist[4] * (x * uyz) + m.twist[5] * vxz + (m.twist[2] + xx * m.twist_x[1]) * wxy;
    const T fuxyz = (m.cube[0] + xx * m.cube_x[0]) * uxyz, fvxyz = (m.cube[1] + xx * m.cube_x[1]) * vxyz,
            fwxyz = (m.cube[2] + xx * m.cube_x[2]) * wxyz;

    left[0][0][i] = -fux, right[0][0][o] = fux;
    left[1][0][i] = -fvx, right[1][0][o] = fvx;
    left[2][0][i] = -fwx, right[2][0][o] = fwx;
    left[0][1][i] = fuy - fuxy, right[0][1][o] = fuy + fuxy;
    left[1][1][i] = fvy - fvxy, right[1][1][o] = fvy + fvxy;
    left[2][1][i] = fwy - fwxy, right[2][1][o] = fwy + fwxy;
    left[0][2][i] = fuz - fuxz, right[0][2][o] = fuz + fuxz;
    left[1][2][i] = fvz - fvxz, right[1][2][o] = fvz + fvxz;
    left[2][2][i] = fwz - fwxz, right[2][2][o] = fwz + fwxz;
    left[0][3][i] = fuyz - fuxyz, right[0][3][o] = fuyz + fuxyz;
    left[1][3][i] = fvyz - fvxyz, right[1][3][o] = fvyz + fvxyz;
    left[2][3][i] = fwyz - fwxyz, right[2][3][o] = fwyz + fwxyz;
  }
}

template <class T>
SNAGMAP_INLINE void collect_yz(std::size_t n, const T (*__restrict left)[kRoom],
                               const T (*__restrict right)[kRoom], T* __restrict a, T* __restrict b,
                               T* __restrict c, T* __restrict d, bool upper_only) {
  if (upper_only) {
    for (std::size_t i = 0; i < n; ++i) {
      const T f0 = left[0][i] + right[0][i], f1 = left[1][i] + right[1][i];
      const T f2 = left[2][i] + right[2][i], f3 = left[3][i] + right[3][i];
      const T even = f0 + f2, odd = f1 + f3;
      c[i] += even - odd;
      d[i] = even + odd;
    }
    return;
  }
  for (std::size_t i = 0; i < n; ++i) {
    const T f0 = left[0][i] + right[0][i], f1 = left[1][i] + right[1][i];
    const T f2 = left[2][i] + right[2][i], f3 = left[3][i] + right[3][i];
    const T low_even = f0 - f2, low_odd = f1 - f3, high_even = f0 + f2, high_odd = f1 + f3;
    a[i] += low_even - low_odd;
    b[i] += low_even + low_odd;
    c[i] += high_even - high_odd;
    d[i] = high_even + high_odd;
  }
}

template <class T>
SNAGMAP_INLINE void brick_row(const RowModes<T>& modes, AlongRow<T> along, std::size_t stride, int lanes_int,
                              FourRows<const T> in, FourRows<T> out, bool upper_only) {
  tell_reads(3 * stride, in.at[0], in.at[1], in.at[2], in.at[3]); // `out` is the thread's own
  tell_reads(stride, along.modulus, along.edge_x, along.inverse_x);
  alignas(64) T s[3][4][kRoom], left[3][4][kRoom], right[3][4][kRoom];
  const auto lanes = std::size_t(lanes_int);
  for (int c = 0; c < 3; ++c)
    for (int q = 0; q < 4; ++q)
      std::fill(right[c][q], right[c][q] + lanes, T(0));
  for (std::size_t begin = 0; begin < stride; begin += kChunk) {
    const std::size_t n = std::min(kChunk, stride - begin);
    for (std::size_t c = 0; c < 3; ++c) {
      const std::size_t at = c * stride + begin;
      transform_yz(n + lanes, in.at[0] + at, in.at[1] + at, in.at[2] + at, in.at[3] + at, s[c]);
    }
    modal_row(modes, n, lanes, along.modulus + begin, along.edge_x + begin, along.inverse_x + begin, s, left,
              right);
    for (std::size_t c = 0; c < 3; ++c) {
      const std::size_t at = c * stride + begin;
      collect_yz(n, left[c], right[c], out.at[0] + at, out.at[1] + at, out.at[2] + at, out.at[3] + at,
                 upper_only);
      for (int q = 0; q < 4; ++q) // what the last bricks push on the next chunk's first nodes
        for (std::size_t l = 0; l < lanes; ++l)
          right[c][q][l] = right[c][q][n + l];
    }
  }
}

/// Stripes of at least kStripe entries, a whole number of nodes each: the order of the sum is fixed by
/// `lanes`.
constexpr std::size_t kStripe = 16;

template <class T>
SNAGMAP_INLINE void dots(std::size_t n, int lanes_int, const T* __restrict a, const T* __restrict b,
                         double* sums) {
  tell_reads(n, a, b);
  tell_writes(std::size_t(lanes_int), sums);
  const auto lanes = std::size_t(lanes_int);
  const std::size_t width = (kStripe + lanes - 1) / lanes * lanes;
  alignas(64) double stripe[kStripe + kMaxLanes] = {};
  std::size_t at = 0;
  for (; at + width <= n; at += width)
    for (std::size_t i = 0; i < width; ++i)
      stripe[i] += double(a[at + i]) * double(b[at + i]);
  for (std::size_t i = 0; at + i < n; ++i)
    stripe[i] += double(a[at + i]) * double(b[at + i]);
  for (std::size_t i = 0; i < width; ++i)
    sums[i % lanes] += stripe[i];
}

} // namespace

SNAGMAP_CLONES void add_brick_row(const RowModes<float>& modes, AlongRow<float> along, std::size_t stride,
                                  int lanes, FourRows<const float> in, FourRows<float> out, bool upper_only) {
  brick_row<float>(modes, along, stride, lanes, in, out, upper_only);
}

SNAGMAP_CLONES void add_brick_row(const RowModes<double>& modes, AlongRow<double> along, std::size_t stride,
                                  int lanes, FourRows<const double> in, FourRows<double> out,
                                  bool upper_only) {
  brick_row<double>(modes, along, stride, lanes, in, out, upper_only);
}

SNAGMAP_CLONES void smooth_row(std::size_t n, const float* __restrict y, const float* __restrict r,
                               const float* __restrict x, float* __restrict x_old, const float* __restrict d,
                               float beta, float gamma) {
  tell_reads(n, y, r, x, d);
  tell_writes(n, x_old);
  for (std::size_t i = 0; i < n; ++i)
    x_old[i] = x[i] + beta * (x[i] - x_old[i]) + gamma * d[i] * (r[i] - y[i]);
}

SNAGMAP_CLONES void scale_row(std::size_t n, const float* __restrict r, const float* __restrict d,
                              float gamma, float* __restrict z) {
  tell_reads(n, r, d);
  tell_writes(n, z);
  for (std::size_t i = 0; i < n; ++i)
    z[i] = gamma * d[i] * r[i];
}

SNAGMAP_CLONES void add_row(std::size_t n, const float* __restrict y, float* __restrict x) {
  tell_reads(n, y);
  tell_writes(n, x);
  for (std::size_t i = 0; i < n; ++i)
    x[i] += y[i];
}

SNAGMAP_CLONES void subtract_row(std::size_t n, const float* r, const float* __restrict y, float* res) {
  tell_reads(n, r, y);
  tell_writes(n, res);
  for (std::size_t i = 0; i < n; ++i)
    res[i] = r[i] - y[i];
}

SNAGMAP_CLONES void advance_row(std::size_t n, const double* __restrict alpha, const double* __restrict p,
                                const double* __restrict q, double* __restrict x, double* __restrict r,
                                float* __restrict r_float) {
  tell_reads(n, alpha, p, q);
  tell_writes(n, x, r, r_float);
  for (std::size_t i = 0; i < n; ++i) {
    x[i] += alpha[i] * p[i];
    r[i] -= alpha[i] * q[i];
    r_float[i] = float(r[i]);
  }
}

SNAGMAP_CLONES void direct_row(std::size_t n, const float* __restrict z, const double* __restrict beta,
                               double* __restrict p) {
  tell_reads(n, z, beta);
  tell_writes(n, p);
  for (std::size_t i = 0; i < n; ++i)
    p[i] = double(z[i]) + beta[i] * p[i];
}

SNAGMAP_CLONES void add_dots(std::size_t n, int lanes, const double* a, const double* b, double* sums) {
  dots<double>(n, lanes, a, b, sums);
}

SNAGMAP_CLONES void add_dots(std::size_t n, int lanes, const float* a, const float* b, double* sums) {
  dots<float>(n, lanes, a, b, sums);
}

} // namespace snagmap
