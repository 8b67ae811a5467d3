#include "models/cards/cutter.hpp"

#include "models/base/constants.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

/// Pieces stacked from the tip up.
struct Stack {
  std::vector<ProfilePiece> pieces;
  double z = 0;

  void line(double r0, double r1, double z1, Zone zone) {
    if (z1 <= z)
      return;
    pieces.push_back({r0, z, r1, z1, false, 0, 0, zone});
    z = z1;
  }
  /// Quarter arc outward and up from (r - corner, z) to (r, z + corner).
  void corner(double r, double corner, Zone zone) {
    if (corner <= 0)
      return;
    pieces.push_back({r - corner, z, r, z + corner, true, r - corner, z + corner, zone});
    z += corner;
  }
};

CutterCard flat(const char* name, const char* title, double diameter, double flute_length, double stick_out) {
  CutterCard c;
  c.name = name, c.title = title, c.source = "common practice, no source";
  c.diameter_mm = c.shank_diameter_mm = diameter;
  c.flute_length_mm = flute_length, c.stick_out_mm = stick_out;
  c.nut_diameter_mm = 28, c.nut_length_mm = 17, c.holder_diameter_mm = 65, c.holder_length_mm = 100;
  c.flutes = 2, c.helix_deg = 30, c.rake_deg = 10;
  return c;
}

CutterCard stub(const char* name, const char* title, double diameter, double flute_length, double neck,
                double stick_out) {
  CutterCard c = flat(name, title, diameter, flute_length, stick_out);
  c.neck_diameter_mm = neck, c.neck_length_mm = stick_out - flute_length - 5;
  return c;
}

std::vector<CutterCard> make_catalogue() {
  std::vector<CutterCard> cards{
      flat("flat-6.35-long", "6.35 mm flat end cutter, flutes 22 mm", 6.35, 22, 50),
      stub("flat-6.35-stub", "6.35 mm flat stub-flute cutter, flutes 6.35 mm, relieved neck", 6.35, 6.35, 4.5,
           50),
      flat("flat-6.35-extra-long", "6.35 mm flat end cutter, flutes 40 mm", 6.35, 40, 60),
      flat("flat-6-long", "6 mm flat end cutter, flutes 22 mm", 6, 22, 50),
      stub("flat-6-stub", "6 mm flat stub-flute cutter, flutes 6 mm, relieved neck", 6, 6, 4, 50),
      flat("flat-6-extra-long", "6 mm flat end cutter, flutes 40 mm", 6, 40, 60),
      flat("flat-3.175-long", "3.175 mm flat end cutter, flutes 17 mm", 3.175, 17, 32),
      stub("flat-3.175-stub", "3.175 mm flat stub-flute cutter, flutes 3.2 mm, relieved neck", 3.175, 3.2,
           2.4, 32),
      flat("flat-10-long", "10 mm flat end cutter, flutes 40 mm", 10, 40, 60),
      flat("flat-12.7-long", "12.7 mm flat end cutter, flutes 32 mm", 12.7, 32, 60),
      stub("flat-12.7-stub", "12.7 mm flat stub-flute cutter, flutes 12.7 mm, relieved neck", 12.7, 12.7, 9.5,
           60),
  };
  CutterCard down = flat("flat-6.35-down", "6.35 mm flat down-cut end cutter, flutes 22 mm", 6.35, 22, 50);
  down.helix_deg = -30;
  CutterCard single = flat("flat-6-single", "6 mm single-flute flat end cutter, flutes 22 mm", 6, 22, 50);
  single.flutes = 1, single.helix_deg = 20, single.rake_deg = 20;
  CutterCard ball = flat("ball-6", "6 mm ball end cutter, flutes 22 mm", 6, 22, 50);
  ball.tip = TipShape::ball;
  CutterCard bull =
      flat("bull-6-r1", "6 mm bull-nose end cutter, corner radius 1 mm, flutes 22 mm", 6, 22, 50);
  bull.tip = TipShape::bull_nose, bull.corner_radius_mm = 1;
  CutterCard tapered = flat("tapered-6", "6 mm tapered cutter, tip 3 mm, half angle 5 deg", 6, 20, 50);
  tapered.tip = TipShape::tapered, tapered.tip_diameter_mm = 3, tapered.taper_deg = 5;
  CutterCard chamfer = flat("chamfer-12-90", "12 mm chamfer cutter, 90 deg", 12, 10, 45);
  chamfer.tip = TipShape::chamfer, chamfer.tip_diameter_mm = 0.5, chamfer.taper_deg = 45,
  chamfer.shank_diameter_mm = 6;
  chamfer.helix_deg = 0;
  CutterCard drill = flat("drill-6", "6 mm drill, point angle 118 deg", 6, 40, 60);
  drill.tip = TipShape::drill_point, drill.taper_deg = 59;
  cards.insert(cards.end(), {down, single, ball, bull, tapered, chamfer, drill});
  return cards;
}

} // namespace

const char* to_text(Zone zone) {
  switch (zone) {
  case Zone::flutes:
    return "flutes";
  case Zone::neck:
    return "neck";
  case Zone::shank:
    return "shank";
  case Zone::nut:
    return "nut";
  case Zone::holder:
    return "holder";
  }
  return "";
}

const char* to_text(TipShape shape) {
  switch (shape) {
  case TipShape::flat:
    return "flat";
  case TipShape::bull_nose:
    return "bull-nose";
  case TipShape::ball:
    return "ball";
  case TipShape::tapered:
    return "tapered";
  case TipShape::chamfer:
    return "chamfer";
  case TipShape::drill_point:
    return "drill point";
  }
  return "";
}

std::vector<ProfilePiece> CutterCard::profile() const {
  if (!own_profile.empty())
    return own_profile;
  Stack stack;
  const double radius = diameter_mm / 2;
  double at_flute_end = radius;
  switch (tip) {
  case TipShape::flat:
    break;
  case TipShape::bull_nose:
    stack.corner(radius, std::min(corner_radius_mm, radius), Zone::flutes);
    break;
  case TipShape::ball:
    stack.corner(radius, radius, Zone::flutes);
    break;
  case TipShape::tapered:
  case TipShape::chamfer:
  case TipShape::drill_point: {
    const double r0 = tip == TipShape::drill_point ? 0 : tip_diameter_mm / 2,
                 slope = std::tan(taper_deg * kRadPerDeg);
    const double full =
        slope > 0 ? (radius - r0) / slope : HUGE_VAL; // height where the cone reaches the diameter
    if (full > flute_length_mm)
      at_flute_end = r0 + slope * flute_length_mm;
    stack.line(r0, at_flute_end, std::min(full, flute_length_mm), Zone::flutes);
    break;
  }
  }
  stack.line(at_flute_end, at_flute_end, flute_length_mm, Zone::flutes);
  if (neck_diameter_mm > 0)
    stack.line(neck_diameter_mm / 2, neck_diameter_mm / 2, flute_length_mm + neck_length_mm, Zone::neck);
  const double shank = (shank_diameter_mm > 0 ? shank_diameter_mm : diameter_mm) / 2;
  stack.line(shank, shank, stick_out_mm, Zone::shank);
  if (nut_diameter_mm > 0)
    stack.line(nut_diameter_mm / 2, nut_diameter_mm / 2, stack.z + nut_length_mm, Zone::nut);
  if (holder_diameter_mm > 0)
    stack.line(holder_diameter_mm / 2, holder_diameter_mm / 2, stack.z + holder_length_mm, Zone::holder);
  return stack.pieces;
}

const std::vector<CutterCard>& cutter_cards() {
  static const std::vector<CutterCard> cards = make_catalogue();
  return cards;
}

} // namespace snagmap
