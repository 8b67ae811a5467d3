// Small programs for the record's tests.
#pragma once

#include "sim/record/record.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace snagmap::testing {

constexpr double kPi = 3.14159265358979323846;

inline CutterCard flat_cutter(double diameter_mm, double flutes_mm) {
  CutterCard card;
  card.name = "flat";
  card.diameter_mm = diameter_mm;
  card.flute_length_mm = flutes_mm;
  card.shank_diameter_mm = diameter_mm;
  card.stick_out_mm = 100;
  return card;
}

inline Move line(Vec3 from, Vec3 to, MoveKind kind = MoveKind::line) {
  Move move;
  move.from = from;
  move.to = to;
  move.kind = kind;
  move.feed_mm_min = kind == MoveKind::rapid ? 0 : 3000;
  return move;
}

/// Arc in the xy plane about `centre` by `turn` radians, rising `rise` mm.
inline Move arc(Vec3 from, Vec2 centre, double turn, double rise = 0) {
  Move move;
  move.kind = MoveKind::arc;
  move.from = from;
  move.centre = centre;
  const Vec2 arm = xy(from) - centre;
  const double whole = std::floor(std::abs(turn) / (2 * kPi) + 1e-12);
  double rest = std::abs(turn) - whole * 2 * kPi;
  move.full_turns = static_cast<std::uint8_t>(whole);
  if (rest < 1e-9) {
    rest = 2 * kPi;
    --move.full_turns;
  }
  rest = std::copysign(rest, turn);
  const double c = std::cos(rest), n = std::sin(rest);
  move.to = {centre.x + arm.x * c - arm.y * n, centre.y + arm.x * n + arm.y * c, from.z + rise};
  if (std::abs(std::abs(rest) - 2 * kPi) < 1e-9)
    move.to = {from.x, from.y, from.z + rise};
  move.turn_rad = static_cast<float>(rest);
  return move;
}

inline Path path_of(std::vector<Move> moves) {
  Path path;
  path.moves = std::move(moves);
  for (std::size_t i = 0; i < path.moves.size(); ++i)
    path.moves[i].line = static_cast<int>(i) + 1;
  return path;
}

inline RemovalRecord cut(const Box3& box, const std::vector<CutterCard>& cutters, const Path& path,
                         double voxel_mm = 0.5) {
  CutOptions options;
  options.voxel_mm = voxel_mm;
  auto record = RemovalRecord::cut({box}, cutters, path, options);
  if (!record)
    throw std::runtime_error(to_text(record.faults().front()));
  return std::move(*record);
}

inline double sum(const std::vector<double>& values) {
  double total = 0;
  for (double v : values)
    total += v;
  return total;
}

} // namespace snagmap::testing
