#include "sim/preview/same.hpp"

#include <algorithm>
#include <tuple>

namespace snagmap {
namespace {

bool same(Vec3 a, Vec3 b) {
  return a.x == b.x && a.y == b.y && a.z == b.z;
}

bool same(const Banded& a, const Banded& b) {
  return std::tie(a.nominal, a.low, a.high) == std::tie(b.nominal, b.low, b.high);
}

bool same(const FoamCard& a, const FoamCard& b) {
  return a.name == b.name && a.open_cell == b.open_cell && a.density_kg_m3 == b.density_kg_m3 &&
         same(a.E_kPa, b.E_kPa) && same(a.nu, b.nu) && same(a.Gc_N_mm, b.Gc_N_mm) &&
         same(a.tensile_kPa, b.tensile_kPa) && same(a.bite_depth_mm, b.bite_depth_mm) &&
         same(a.lambda, b.lambda) && same(a.cell_mm, b.cell_mm) && same(a.cut_force_N_mm, b.cut_force_N_mm) &&
         same(a.severing_MJ_m3, b.severing_MJ_m3);
}

auto shape_of(const CutterCard& c) {
  return std::tie(c.tip, c.diameter_mm, c.corner_radius_mm, c.taper_deg, c.tip_diameter_mm, c.flute_length_mm,
                  c.neck_diameter_mm, c.neck_length_mm, c.shank_diameter_mm, c.stick_out_mm,
                  c.nut_diameter_mm, c.nut_length_mm, c.holder_diameter_mm, c.holder_length_mm);
}

auto piece(const ProfilePiece& p) {
  return std::tie(p.r0_mm, p.z0_mm, p.r1_mm, p.z1_mm, p.arc, p.centre_r_mm, p.centre_z_mm, p.zone);
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
  const auto all = [](const MachineCard& m) {
    return std::tie(m.feed_mm_min, m.rapid_mm_min, m.acceleration_mm_s2, m.jerk_mm_s3, m.corner_deviation_mm,
                    m.spindle_run_up_s, m.tool_change_s);
  };
  return all(a) == all(b);
}

bool same_stock(const Scene& a, const Scene& b) {
  return a.voxel_mm == b.voxel_mm && a.stock == b.stock && same(a.sheet.low, b.sheet.low) &&
         same(a.sheet.high, b.sheet.high);
}

bool same_bodies(const std::vector<CutterCard>& a, const std::vector<CutterCard>& b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(), [](const CutterCard& x, const CutterCard& y) {
    return shape_of(x) == shape_of(y) &&
           std::equal(x.own_profile.begin(), x.own_profile.end(), y.own_profile.begin(), y.own_profile.end(),
                      [](const ProfilePiece& p, const ProfilePiece& q) { return piece(p) == piece(q); });
  });
}

bool same_judging(const Scene& a, const Scene& b) {
  const bool layers = std::equal(a.layers.begin(), a.layers.end(), b.layers.begin(), b.layers.end(),
                                 [](const Layer& x, const Layer& y) {
                                   return x.thickness_mm == y.thickness_mm && same(x.foam, y.foam);
                                 });
  const bool teeth =
      std::equal(a.cutters.begin(), a.cutters.end(), b.cutters.begin(), b.cutters.end(),
                 [](const CutterCard& x, const CutterCard& y) { return x.flutes == y.flutes; });
  return layers && teeth && a.rigid_floor == b.rigid_floor && a.tolerance_mm == b.tolerance_mm &&
         a.sample_mm == b.sample_mm;
}

} // namespace snagmap
