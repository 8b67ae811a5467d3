#include "sim/preview/same.hpp"

#include "models/cards/card_fields.hpp"

#include <algorithm>
#include <tuple>

namespace snagmap {
namespace {

bool same(Vec3 a, Vec3 b) {
  return a.x == b.x && a.y == b.y && a.z == b.z;
}

/// Where a value comes from changes no result.
bool same(const Banded& a, const Banded& b) {
  return std::tie(a.nominal, a.low, a.high) == std::tie(b.nominal, b.low, b.high);
}

bool same(const std::vector<ProfilePiece>& a, const std::vector<ProfilePiece>& b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                    [](const ProfilePiece& p, const ProfilePiece& q) { return parts_of(p) == parts_of(q); });
}

template <class Value> bool same(const Value& a, const Value& b) {
  return a == b;
}

/// The cards agree in all that bears on `what`.
template <class Card> bool same(const Card& a, const Card& b, Bears what) {
  bool all = true;
  for_each_field<Card>(
      [&](const auto& field) { all &= field.bears != what || same(a.*field.member, b.*field.member); });
  return all;
}

bool same(const std::vector<CutterCard>& a, const std::vector<CutterCard>& b, Bears what) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                    [what](const CutterCard& x, const CutterCard& y) { return same(x, y, what); });
}

template <class Same> bool same_moves(const Path& a, const Path& b, Same same_move) {
  return std::equal(a.moves.begin(), a.moves.end(), b.moves.begin(), b.moves.end(), same_move);
}

bool same_way(const Move& a, const Move& b) {
  return same(a.from, b.from) && same(a.to, b.to) && a.kind == b.kind && a.tool == b.tool &&
         a.plane == b.plane && a.centre.x == b.centre.x && a.centre.y == b.centre.y &&
         a.turn_rad == b.turn_rad && a.full_turns == b.full_turns;
}

} // namespace

bool same_geometry(const Path& a, const Path& b) {
  return same_moves(a, b, same_way);
}

bool same_program(const Path& a, const Path& b) {
  return same_moves(a, b, [](const Move& m, const Move& n) {
    return same_way(m, n) && m.feed_mm_min == n.feed_mm_min && m.spindle_rpm == n.spindle_rpm &&
           m.line == n.line && m.corner == n.corner && m.blend_um == n.blend_um;
  });
}

bool same_machine(const MachineCard& a, const MachineCard& b) {
  return same(a, b, Bears::motion);
}

bool same_stock(const Scene& a, const Scene& b) {
  return a.voxel_mm == b.voxel_mm && a.stock == b.stock && same(a.sheet.low, b.sheet.low) &&
         same(a.sheet.high, b.sheet.high);
}

bool same_bodies(const std::vector<CutterCard>& a, const std::vector<CutterCard>& b) {
  return same(a, b, Bears::record);
}

bool same_judging(const Scene& a, const Scene& b) {
  const bool layers = std::equal(
      a.layers.begin(), a.layers.end(), b.layers.begin(), b.layers.end(), [](const Layer& x, const Layer& y) {
        return x.thickness_mm == y.thickness_mm && same(x.foam, y.foam, Bears::judging);
      });
  return layers && same(a.cutters, b.cutters, Bears::judging) && a.rigid_floor == b.rigid_floor &&
         a.tolerance_mm == b.tolerance_mm && a.sample_mm == b.sample_mm;
}

} // namespace snagmap
