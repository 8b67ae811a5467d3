// What a page shows in space, as plain data: the finished sheet, and its worst webs each at its moment.
#pragma once

#include "sim/answer/answer.hpp"
#include "viz/space/packed.hpp"

#include <vector>

namespace snagmap {

/// A web at the moment of its worst spot.
struct SpaceWeb {
  const WebRow* row = nullptr; ///< of the answer the scene was made of, which must live as long
  PackedMesh foam;             ///< upright; its lean is that of the shape as it is drawn
  PackedMesh cutter;           ///< whole, flutes to holder, where it stands then
  std::vector<std::vector<Vec3>> edges_mm;
  Vec2 toward;         ///< unit, the way the web leans
  Vec3 badge_mm;       ///< on the finished sheet, at the web's top
  Box3 room;           ///< what the eye should see first
  double turn_deg = 0; ///< where it stands then
  bool shape_only = false;
  double factor = 1; ///< the lean is drawn so many times as large as computed
};

struct SpaceScene {
  Box3 sheet;
  PackedMesh skin;            ///< marks: a web's number and one, 0 where nothing was found
  std::vector<SpaceWeb> webs; ///< worst first: those that snag; without any the three nearest
  std::size_t left_out = 0;   ///< webs that snag and found no room
};

/// Worst first, webs are taken in until their bytes reach `most_bytes`, at least one. Two runs give the same.
SpaceScene space_scene(const Preview& preview, const JobAnswer& answer, std::size_t most_bytes = 900'000);

} // namespace snagmap
