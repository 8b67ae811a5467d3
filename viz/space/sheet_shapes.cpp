#include "viz/space/sheet_shapes.hpp"

#include "viz/skin/surfaces.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {

Mesh sheet_skin(const Preview& preview, const Zones& zones, double cells) {
  const Vec3 size = preview.scene.sheet.high - preview.scene.sheet.low;
  SkinOptions fine;
  fine.cell_mm = std::max(preview.record->voxel_mm(), std::sqrt(size.x * size.y / cells));
  fine.keep_fine = [&zones](Vec2 low, Vec2 high) { return zones.any(low, high); };
  return Skin(preview, fine).whole(preview.record->end());
}

PaintedMesh painted_by_snag(const Preview& preview, ZonedMesh zoned) {
  PaintedMesh out{std::move(zoned.mesh), {}};
  out.colours.reserve(zoned.of.size());
  for (const int sample : zoned.of)
    out.colours.push_back(sample < 0 ? kFoam
                                     : snag_colour(preview.samples[static_cast<std::size_t>(sample)].s));
  return out;
}

} // namespace snagmap
