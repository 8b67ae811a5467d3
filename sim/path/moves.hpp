// What many stages ask of a move.
#pragma once

#include "sim/path/path.hpp"

namespace snagmap {

constexpr double kSamePlace_mm = 1e-3; ///< one count of a program's third decimal
constexpr double kSameLevel_mm = kSamePlace_mm;

/// A line or arc at feed, in foam or over it.
inline bool is_feed(const Move& move) {
  return move.kind == MoveKind::line || move.kind == MoveKind::arc;
}
inline bool same_place(Vec3 a, Vec3 b) {
  return norm(a - b) < kSamePlace_mm;
}

} // namespace snagmap
