// y = A x plane by plane, each finished row handed on while it is still in the cache: y itself is never
// stored.
#pragma once

#include "sim/solid/lattice.hpp"
#include "sim/solid/rows.hpp"
#include "sim/threads/parallel.hpp"

#include <algorithm>
#include <cstring>
#include <vector>

namespace snagmap {

/// Planes and rows of one task. Neighbouring tasks both compute the bricks between them, so no row is ever
/// shared and the order of every sum is the same however the tasks are dealt out; thick tasks waste little,
/// small grids need many, and a task's rows of two planes in and two out should fit the second-level cache.
inline int slab_planes(const Lattice& g) {
  constexpr std::size_t kSmall = 400'000; // of many such patches each has a thread of its own
  return g.entries() <= kSmall ? g.nz + 1 : std::clamp((g.nz + 1) / 8, 4, 16);
}
inline int block_rows(const Lattice& g) {
  constexpr std::size_t kCache = 768 * 1024;
  const int rows = g.ny + 1, fit = std::max(8, int(kCache / (4 * 3 * g.stride * sizeof(float))));
  const int blocks = (rows + fit - 1) / fit;
  return (rows + blocks - 1) / blocks;
}
inline int blocks_in_plane(const Lattice& g) {
  return (g.ny + block_rows(g)) / block_rows(g);
}

/// Moduli of a row of bricks, one entry for each entry of a row of nodes.
inline void expand_modulus(const Lattice& g, int j, int k, float* out) {
  const float* e = &g.modulus[g.brick_at(0, j, k)];
  const auto lanes = std::size_t(g.lanes);
  if (lanes == 1)
    std::copy(e, e + g.nx, out);
  else
    for (int i = 0; i < g.nx; ++i)
      std::fill_n(out + std::size_t(i) * lanes, lanes, e[i]);
  std::fill(out + std::size_t(g.nx) * lanes, out + g.stride, 0.0f);
}

/// Inverse diagonal of a row of nodes.
inline void expand_inverse_diagonal(const Lattice& g, int j, int k, std::size_t c, float* out) {
  const float* s = &g.inverse_diagonal[c][g.node(0, j, k)];
  const auto lanes = std::size_t(g.lanes);
  if (lanes == 1)
    std::copy(s, s + g.nx + 1, out);
  else
    for (int i = 0; i <= g.nx; ++i)
      std::fill_n(out + std::size_t(i) * lanes, lanes, s[i]);
  std::fill(out + std::size_t(g.nx + 1) * lanes, out + g.stride, 0.0f);
}

/// Sets the held components of a row to 0.
template <class T> void clear_fixed(const Lattice& g, std::size_t row, T* values) {
  const auto lanes = std::size_t(g.lanes);
  for (std::uint32_t f = g.fixed_begin[row]; f < g.fixed_begin[row + 1]; ++f)
    std::fill_n(values + g.fixed_x[f] * lanes, lanes, T(0));
}

template <class T> const RowModes<T>& modes_of(const BrickRow& row) {
  if constexpr (std::is_same_v<T, float>)
    return row.modes_float;
  else
    return row.modes;
}

template <class T> AlongRow<T> along_row(const Lattice& g, const float* modulus) {
  if constexpr (std::is_same_v<T, float>)
    return {modulus, g.edge_x_float.data(), g.inverse_x_float.data()};
  else
    return {modulus, g.edge_x.data(), g.inverse_x.data()};
}

/// Calls consume(j, k, y) for each row of nodes that touches foam, y = three rows of A x with the held
/// components 0. Rows of one plane in one block come in order from one thread; blocks and planes come in any
/// order.
template <class T, class Consume> void sweep(const Lattice& g, const T* x, Consume&& consume) {
  const std::size_t three = 3 * g.stride, plane = g.plane_rows() * g.stride;
  const int slab = slab_planes(g), block = block_rows(g), blocks = blocks_in_plane(g);
  const int slabs = (g.planes() + slab - 1) / slab;
  parallel_each(slabs * blocks, [&](int task) {
    const int first = task / blocks * slab, last = std::min(first + slab, g.planes());
    const int j0 = task % blocks * block, j1 = std::min(j0 + block, g.ny + 1); // our rows
    const int b0 = std::max(j0 - 1, 0), b1 = std::min(j1, g.ny);               // bricks they touch
    const std::size_t room_plane = std::size_t(b1 - b0 + 1) * three;
    thread_local std::vector<T> room;
    thread_local std::vector<float> modulus;
    if (room.size() < 2 * room_plane + kSlack)
      room.resize(2 * room_plane + kSlack);
    if (modulus.size() < g.stride)
      modulus.resize(g.stride);
    T* cur = room.data();
    T* next = cur + room_plane;
    const auto hand_on = [&](int j, int k) {
      if (j < j0 || j >= j1 || !g.is_used(j, k))
        return;
      T* y = cur + std::size_t(j - b0) * three;
      const std::size_t row = std::size_t(k) * g.plane_rows() + std::size_t(j) * 3;
      for (std::size_t c = 0; c < 3; ++c)
        clear_fixed(g, row + c, y + c * g.stride);
      consume(j, k, static_cast<const T*>(y));
    };
    if (first == 0)
      std::fill(cur, cur + room_plane, T(0));
    for (int k = std::max(first - 1, 0); k < last; ++k) {
      const bool ours = k >= first;
      if (k == g.nz) { // the top plane has no bricks above
        for (int j = j0; j < j1; ++j)
          hand_on(j, k);
        break;
      }
      std::fill(next, next + three, T(0));
      for (int j = b0; j < b1; ++j) {
        const T* low = x + std::size_t(k) * plane + std::size_t(j) * three;
        const std::size_t at = std::size_t(j - b0) * three;
        if (g.has_foam(j, k)) {
          expand_modulus(g, j, k, modulus.data());
          add_brick_row(modes_of<T>(g.kind(j, k)), along_row<T>(g, modulus.data()), g.stride, g.lanes,
                        FourRows<const T>{{low, low + three, low + plane, low + plane + three}},
                        FourRows<T>{{cur + at, cur + at + three, next + at, next + at + three}}, !ours);
        } else {
          std::fill(next + at + three, next + at + 2 * three, T(0));
        }
        if (ours)
          hand_on(j, k);
      }
      if (ours)
        hand_on(b1, k);
      std::swap(cur, next);
    }
  });
}

} // namespace snagmap
