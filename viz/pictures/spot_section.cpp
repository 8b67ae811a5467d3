#include "viz/draw/cutter_mesh.hpp"
#include "viz/pictures/close_up.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

/// Foam cut through along the spot's normal, in mm from the root of the wall.
struct Section {
  Vec2 origin; ///< pixels of the root of the wall
  double px_per_mm = 1;
  double left, right, below, above; ///< room: across, and past root and top of the web
  Vec2 operator()(double across_mm, double over_root_mm) const {
    return {origin.x + px_per_mm * across_mm, origin.y - px_per_mm * over_root_mm};
  }
};

Section section_of(const CloseUp& c, Vec2 low, Vec2 high) {
  const double w = c.seen.spot.question.web.w_mm, h = c.seen.spot.question.web.h_mm,
               r = c.seen.cutter.diameter_mm / 2;
  Section at{
      {},          1, -w - std::max(10.0, 0.5 * h), 2 * r + std::max(4.0, 0.2 * h), std::max(6.0, 0.3 * h),
      0.45 * h + 6};
  at.px_per_mm =
      std::min((high.x - low.x) / (at.right - at.left), (high.y - low.y) / (h + at.below + at.above));
  at.origin = {0.5 * (low.x + high.x) - at.px_per_mm * 0.5 * (at.left + at.right),
               0.5 * (low.y + high.y) + at.px_per_mm * 0.5 * (h + at.above - at.below)};
  return at;
}

/// Foam in strips two pixels wide, without the web, which is drawn after, bent.
void draw_foam(CloseUp& c, const Section& at) {
  const Spot& spot = c.seen.spot;
  const double w = spot.question.web.w_mm, h = spot.question.web.h_mm, root = spot.place_mm.z;
  const RemovalRecord& record = *c.source.preview.record;
  const Moment t = std::min<Moment>(spot.move + 1, record.end());
  const double strip = 2 * c.page.u / at.px_per_mm;
  for (double across = at.left; across < at.right; across += strip) {
    const Vec2 p = xy(spot.place_mm) + (across + strip / 2) * spot.normal;
    const bool in_web = across + strip / 2 > -w && across + strip / 2 < 0;
    for (const Slab& slab : record.column(p, t)) {
      const double bottom = std::max(slab.low_mm - root, -at.below);
      double top = std::min(slab.high_mm - root, h + at.above);
      if (in_web)
        top = std::min(top, 0.0);
      if (top > bottom)
        c.page.drawing.rectangle(at(across, top), at(across + strip + 0.6 / at.px_per_mm, bottom), kFoam);
    }
  }
}

/// The web where it is pulled to, and dashed where it stood.
void draw_bent_web(CloseUp& c, const Section& at) {
  Drawing& d = c.page.drawing;
  const double u = c.page.u, w = c.seen.spot.question.web.w_mm, h = c.seen.spot.question.web.h_mm;
  std::vector<Vec2> wall, back;
  for (int k = 0; k <= 24; ++k) {
    const double z = h * k / 24, lean = c.seen.bent.at_height(z);
    back.push_back(at(-w + lean, z));
    wall.push_back(at(lean, z));
  }
  Band web;
  web.fill = snag_colour(c.seen.spot.s());
  web.fill.a = 215;
  web.low = back;
  web.high = wall;
  d.shapes.emplace_back(std::in_place_type<Band>, web);
  d.line({at(-w, 0), at(-w, h), at(0, h), at(0, 0)}, kInk, 1.5 * u, true);
  d.line(back, kInk, 1.5 * u);
  d.line(wall, kInk, 2 * u);
}

void draw_measures(CloseUp& c, const Section& at, double right_of_cutter_mm) {
  Page& page = c.page;
  const Shown& shown = c.source.shown;
  const double u = page.u, w = c.seen.spot.question.web.w_mm, h = c.seen.spot.question.web.h_mm;
  const Contact& flutes = c.seen.spot.question.contact;
  draw_dimension(page, at(-w, h) - Vec2{0, 16 * u}, at(0, h) - Vec2{0, 16 * u}, "", 0);
  page.drawing.text(at(0, h) - Vec2{4 * u, 28 * u}, "w " + shown.length(w), 18 * u,
                    Anchor::end); // ends at the wall: beyond it stands the cutter
  draw_dimension(page, at(-w, 0) - Vec2{22 * u, 0}, at(-w, h) - Vec2{22 * u, 0}, "h " + shown.length(h),
                 -10 * u);
  const double beside = right_of_cutter_mm + 14 * u / at.px_per_mm;
  draw_dimension(page, at(beside, flutes.low_mm), at(beside, flutes.high_mm),
                 "flutes " + shown.length(c.seen.spot.a_mm), 10 * u);
}

} // namespace

void draw_section(CloseUp& c, Vec2 low, Vec2 high) {
  const Section at = section_of(c, low, high);
  const Spot& spot = c.seen.spot;
  Drawing& d = c.page.drawing;
  const double u = c.page.u, h = spot.question.web.h_mm;
  draw_foam(c, at);
  // Cutter first, so that the web, drawn over it, shows how far it is pulled in.
  const double axis = dot(xy(spot.tip_mm) - xy(spot.place_mm), spot.normal),
               tip = spot.tip_mm.z - spot.place_mm.z;
  draw_cutter(
      d, c.seen.cutter, h + at.above - tip,
      [&](double radius, double z) { return at(axis + radius, tip + z); }, 2 * u);
  draw_bent_web(c, at);
  for (const TouchMark& mark : touching(spot)) {
    const double reach = radius_at(c.seen.cutter, 0.5 * (mark.low_mm + mark.high_mm));
    d.line({at(axis - reach, tip + mark.low_mm), at(axis - reach, tip + mark.high_mm)}, kAlarm, 6 * u);
  }
  draw_measures(c, at, axis + c.seen.cutter.diameter_mm / 2);
  draw_scale_bar(c.page, {low.x, at.origin.y + at.px_per_mm * at.below + 30 * u}, at.px_per_mm,
                 c.source.shown);
}

} // namespace snagmap
