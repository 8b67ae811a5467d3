// A cutter as a solid of revolution with its flutes wound on, and as a side view.
#pragma once

#include "models/cards/cutter.hpp"
#include "viz/draw/colours.hpp"
#include "viz/draw/drawing.hpp"
#include "viz/skin/mesh.hpp"

#include <functional>
#include <vector>

namespace snagmap {

struct PaintedMesh {
  Mesh mesh;
  std::vector<Colour> colours; ///< one for each triangle
};

/// Heights over the tip where the flutes touch a wall, and the direction of that wall from the axis.
struct TouchMark {
  double low_mm = 0, high_mm = 0;
  Vec2 toward{1, 0};
};

/// The cutter standing with its tip at a place, cut off at `height_mm` over the tip. Touching flutes carry
/// the alarm colour.
PaintedMesh cutter_mesh(const CutterCard& cutter, Vec3 tip, double height_mm,
                        const std::vector<TouchMark>& touches);

Colour zone_colour(Zone zone);

/// Side view of the cutter into a drawing. `place` turns (radius, height over the tip) into pixels.
void draw_cutter(Drawing& drawing, const CutterCard& cutter, double height_mm,
                 const std::function<Vec2(double, double)>& place, double line_px, double from_r = -1);

/// Largest radius at a height over the tip; 0 above the whole cutter.
double radius_at(const CutterCard& cutter, double z_mm);
/// Height of the top of the last zone.
double cutter_height_mm(const CutterCard& cutter);

} // namespace snagmap
