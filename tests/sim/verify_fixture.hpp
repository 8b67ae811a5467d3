// Sheets with one web cut by a short program, and the spot that judges it.
#pragma once

#include "sim/preview/preview.hpp"
#include "tests/sim/record_fixture.hpp"

namespace snagmap::testing {

/// A straight web of thickness w, height h and length L, free at both ends, turned by an angle about the
/// middle of a sheet; pockets 2h + 10 wide all round, foam `under` mm thick below.
struct StraightWeb {
  double w = 10, h = 25, length = 120, turn_deg = 0, under = 25, voxel = 0.5;
  double taper = 0;  ///< change of thickness for each mm along, on the far side
  double radius = 0; ///< of the mid-line; 0: straight. The centre lies on the cutter's side.
};

inline Scene scene_for(const Box3& sheet) {
  Scene scene;
  scene.sheet = sheet;
  FoamCard foam;
  foam.name = "test";
  foam.E_kPa = {50, 50, 50, "the test", false};
  foam.nu = {0.3, 0.3, 0.3, "the test", false};
  foam.lambda = {0.3, 0.2, 0.4, "the test", false};
  foam.bite_depth_mm = {1, 1, 1, "the test", false};
  scene.layers.push_back({foam, sheet.high.z - sheet.low.z});
  scene.voxel_mm = 0.5;
  return scene;
}

struct WebCase {
  RemovalRecord record;
  Scene scene;
  Spot spot;
};

inline Spot spot_on(Vec3 place, Vec2 normal, const StraightWeb& web, double b_p, std::uint32_t last_move) {
  Spot spot;
  spot.place_mm = place;
  spot.normal = normal;
  spot.move = last_move, spot.move_share = 1; // all is cut
  Web& q = spot.question.web;
  q.w_mm = web.w, q.h_mm = web.h, q.d1_mm = q.d2_mm = web.length / 2, q.b_p_mm = b_p, q.nu = 0.3;
  spot.question.contact = {0, web.h};
  return spot;
}

inline WebCase cut_web(const StraightWeb& web, double b_p = 5) {
  const double room = 2 * web.h + 10, reach = web.length / 2 + web.w / 2 + room + 12;
  const Box3 sheet{{-reach, -reach, 0}, {reach, reach, web.under + web.h}};
  const double r = 5, step = 8, z = web.under, angle = web.turn_deg * kPi / 180;
  const auto turned = [&](double x, double y) {
    return Vec3{x * std::cos(angle) - y * std::sin(angle), x * std::sin(angle) + y * std::cos(angle), z};
  };
  std::vector<Move> moves;
  const double end = web.length / 2 + r, side = web.w / 2 + r;
  // Along both faces, then outward; the far face may taper. Last of all the face the spot is on.
  for (double out = room - r; out > step; out -= step)
    for (const double way : {-1.0, 1.0})
      moves.push_back(line(turned(-end - room, way * (side + out)), turned(end + room, way * (side + out))));
  for (double out = 0; out < room; out += step)
    for (const double way : {-1.0, 1.0})
      moves.push_back(line(turned(way * (end + out), -side - room + 2 * r),
                           turned(way * (end + out), side + room - 2 * r)));
  for (double out = step; out >= 0; out -= step) {
    const double far0 = -side - out + web.taper * end, far1 = -side - out - web.taper * end;
    moves.push_back(line(turned(-end, far0), turned(end, far1)));
    moves.push_back(line(turned(end, side + out), turned(-end, side + out)));
  }
  CutterCard cutter = flat_cutter(2 * r, web.h + 5);
  Path path = path_of(moves);
  const Vec3 place = turned(0, web.w / 2);
  const Vec2 normal{-std::sin(angle), std::cos(angle)};
  const auto last = std::uint32_t(moves.size() - 1);
  return {cut(sheet, {cutter}, path, web.voxel), scene_for(sheet), spot_on(place, normal, web, b_p, last)};
}

} // namespace snagmap::testing
