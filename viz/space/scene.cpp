#include "viz/space/scene.hpp"

#include "viz/space/sheet_shapes.hpp"
#include "viz/space/spot_shapes.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

constexpr double kSheetCells = 25000, kWebCells = 28; // what a screen shows; finer costs bytes nobody sees
constexpr double kSheetGrid_mm = 0.04, kWebGrid_mm = 0.02; // the same for places
constexpr int kShades = 32;                                // of the snag number under 1
constexpr std::size_t kNearest = 3;

/// Painted like the pictures, in few shades, so that neighbours share their points; zones end with the skin's
/// triangles, as splitting them would make three times as many.
PackedMesh packed_sheet(const Preview& preview) {
  const Zones zones(preview);
  PaintedMesh painted{sheet_skin(preview, zones, kSheetCells), {}};
  PackedWith with;
  with.finest_mm = kSheetGrid_mm;
  for (const int found : zones.of(painted.mesh)) {
    const PathSample* const sample = found < 0 ? nullptr : &preview.samples[static_cast<std::size_t>(found)];
    with.marks.push_back(sample && sample->web >= 0 && sample->web < 65535 ? sample->web + 1 : 0);
    const double s = sample ? sample->s : 0;
    painted.colours.push_back(!sample  ? kFoam
                              : s >= 1 ? kAlarm
                                       : snag_colour((std::floor(kShades * s) + 0.5) / kShades));
  }
  return packed(painted, with);
}

SpaceWeb seen_web(const Preview& preview, const WebRow& row) {
  const Spot& spot = preview.spots[row.spot];
  SpotSeen seen(preview, spot);
  SpaceWeb web;
  web.row = &row;
  web.toward = spot.normal;
  web.badge_mm = spot.place_mm + Vec3{0, 0, spot.question.web.h_mm};
  web.room = seen.room;
  web.turn_deg = seen.turn_deg;
  web.shape_only = seen.bent.shape_only;
  web.factor = seen.bent.factor;
  web.edges_mm = upright_edges(seen);
  Mesh foam = foam_round(seen, kWebCells);
  PackedWith with;
  with.finest_mm = kWebGrid_mm;
  for (const Vec3& p : foam.points)
    with.lean_mm.push_back(std::max(0.0, dot(xy(seen.bent(p)), spot.normal)));
  std::vector<Colour> colours = web_colours(spot, foam);
  web.foam = packed({std::move(foam), std::move(colours)}, with);
  PackedWith plain;
  plain.finest_mm = kWebGrid_mm;
  web.cutter =
      packed(cutter_mesh(seen.cutter, spot.tip_mm, cutter_height_mm(seen.cutter), touching(spot)), plain);
  return web;
}

} // namespace

SpaceScene space_scene(const Preview& preview, const JobAnswer& answer, std::size_t most_bytes) {
  SpaceScene scene;
  scene.sheet = preview.scene.sheet;
  scene.skin = packed_sheet(preview);
  std::size_t bytes = scene.skin.bytes.size();
  for (const WebRow& row : answer.rows) {
    if (!row.snags && (answer.snag > 0 || scene.webs.size() == kNearest))
      break;
    if (!scene.webs.empty() && bytes >= most_bytes) {
      scene.left_out += row.snags;
      continue;
    }
    scene.webs.push_back(seen_web(preview, row));
    bytes += scene.webs.back().foam.bytes.size() + scene.webs.back().cutter.bytes.size();
  }
  return scene;
}

} // namespace snagmap
