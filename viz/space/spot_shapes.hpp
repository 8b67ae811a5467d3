// One spot at its moment as shapes in space, millimetres: the foam round it, its web, the cutter. The still
// pictures and the page show the same ones.
#pragma once

#include "viz/draw/cutter_mesh.hpp"
#include "viz/space/bent_web.hpp"

#include <vector>

namespace snagmap {

/// A spot, its cutter, and how far its neighbourhood reaches.
struct SpotSeen {
  SpotSeen(const Preview& preview, const Spot& spot);
  const Preview& preview;
  const Spot& spot;
  const CutterCard& cutter;
  BentWeb bent;
  double reach_mm; ///< along the web to either side
  double turn_deg; ///< compass of an eye that sees web and cutter beside each other; 0 = looking from +x
  Box3 room;       ///< behind the web and beside it; on the cutter's side it ends with the cutter
};

/// The sheet in the room at the spot's moment, upright, cut short of the kerf's far wall: past it a film
/// would be left. `cells`: of the grid along `reach_mm`; more are finer.
Mesh foam_round(const SpotSeen& seen, double cells);
/// One colour a triangle: the web in that of its S, all other foam grey.
std::vector<Colour> web_colours(const Spot& spot, const Mesh& foam);
/// Runs of slices that touch: over the tip, mm.
std::vector<TouchMark> touching(const Spot& spot);
/// The web's upper edges before it leaned, wall and back; none for a post.
std::vector<std::vector<Vec3>> upright_edges(const SpotSeen& seen);

} // namespace snagmap
