#include "viz/space/spot_shapes.hpp"

#include "viz/skin/surfaces.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

/// A place `into_mm` behind the wall and `along_mm` beside the spot, seen from above.
Vec2 beside(const Spot& spot, double into_mm, double along_mm) {
  return xy(spot.place_mm) - into_mm * spot.normal + along_mm * left_of(spot.normal);
}

Box3 room_round(const SpotSeen& seen) {
  const Web& web = seen.spot.question.web;
  const double behind = web.w_mm + 0.5 * seen.reach_mm, before = -seen.cutter.diameter_mm - 1;
  const Vec2 corners[] = {beside(seen.spot, behind, -seen.reach_mm), beside(seen.spot, behind, seen.reach_mm),
                          beside(seen.spot, before, -seen.reach_mm),
                          beside(seen.spot, before, seen.reach_mm)};
  Vec2 low = corners[0], high = corners[0];
  for (const Vec2 p : corners) {
    low = {std::min(low.x, p.x), std::min(low.y, p.y)};
    high = {std::max(high.x, p.x), std::max(high.y, p.y)};
  }
  const double root = seen.spot.place_mm.z;
  return {{low.x, low.y, root - 3}, {high.x, high.y, root + 1.6 * web.h_mm}};
}

} // namespace

SpotSeen::SpotSeen(const Preview& p, const Spot& s)
    : preview(p), spot(s), cutter(p.scene.cutters[static_cast<std::size_t>(s.cutter)]), bent(s, p),
      reach_mm(std::max(1.1 * s.question.web.h_mm, 18.0)),
      turn_deg(std::atan2(s.normal.y, s.normal.x) * 180 / M_PI + 58), room(room_round(*this)) {}

Mesh foam_round(const SpotSeen& seen, double cells) {
  const RemovalRecord& record = *seen.preview.record;
  SkinOptions fine;
  fine.cell_mm = std::max(record.voxel_mm(), seen.reach_mm / cells);
  fine.tallest_mm = std::max(seen.spot.question.web.h_mm / 12, fine.cell_mm);
  fine.window = seen.room;
  fine.cut = SkinOptions::Cut{seen.spot.normal,
                              dot(xy(seen.spot.tip_mm), seen.spot.normal) + 0.45 * seen.cutter.diameter_mm};
  return Skin(seen.preview, fine).whole(std::min<Moment>(seen.spot.move + 1, record.end()));
}

std::vector<Colour> web_colours(const Spot& spot, const Mesh& foam) {
  const SnagQuestion& q = spot.question;
  const double half_width = q.web.b_p_mm + 0.99 * q.web.h_mm, clinging = clinging_mm(q.web);
  std::vector<Colour> colours;
  for (const Triangle& tri : foam.triangles) {
    const Vec3 c = (1.0 / 3) * (foam.points[tri[0]] + foam.points[tri[1]] + foam.points[tri[2]]);
    const Vec2 d = xy(c) - xy(spot.place_mm);
    const double into = -dot(d, spot.normal), along = cross(spot.normal, d), over = c.z - spot.place_mm.z;
    const bool web =
        into > -clinging && into < q.web.w_mm + clinging && over > 0.02 && over < q.web.h_mm + 0.1 &&
        along < std::min(half_width, q.web.d1_mm + (q.web.end1 == WebEnd::free ? clinging : 0)) &&
        -along < std::min(half_width, q.web.d2_mm + (q.web.end2 == WebEnd::free ? clinging : 0));
    colours.push_back(web ? snag_colour(spot.s()) : kFoam);
  }
  return colours;
}

std::vector<TouchMark> touching(const Spot& spot) {
  std::vector<TouchMark> marks;
  const Contact& contact = spot.question.contact;
  const double step = (contact.high_mm - contact.low_mm) / kSlices, tip = spot.tip_mm.z - spot.place_mm.z;
  for (std::size_t i = 0; i < kSlices; ++i) {
    // At or past the edge every slice within reach takes part; below it, those the lean closes.
    const bool touches = spot.s() >= 1 || spot.question.gap_mm[i] <= std::max(0.0, spot.answer.lean_mm);
    if (!touches)
      continue;
    const double low = contact.low_mm + step * static_cast<double>(i) - tip;
    if (!marks.empty() && std::abs(marks.back().high_mm - low) < 1e-6)
      marks.back().high_mm = low + step;
    else
      marks.push_back({low, low + step, -1.0 * spot.normal});
  }
  return marks;
}

std::vector<std::vector<Vec3>> upright_edges(const SpotSeen& seen) {
  const Web& web = seen.spot.question.web;
  std::vector<std::vector<Vec3>> edges;
  if (web.length_mm() <= 1.5 * web.w_mm)
    return edges;
  for (const double into_mm : {0.0, web.w_mm}) {
    std::vector<Vec3> line;
    for (int k = -10; k <= 10; ++k) {
      const double a = seen.reach_mm * 0.8 * k / 10;
      if (a > web.d1_mm || -a > web.d2_mm)
        continue;
      const Vec2 p = beside(seen.spot, into_mm, a);
      line.push_back({p.x, p.y, seen.spot.place_mm.z + web.h_mm + 0.05});
    }
    edges.push_back(std::move(line));
  }
  return edges;
}

} // namespace snagmap
