#include "sim/study/wall_spots.hpp"

#include <cmath>

namespace snagmap {

const Spot* worst_of_wall(const std::vector<Spot>& spots, Vec2 low_mm, Vec2 high_mm) {
  constexpr double kOnFace_mm = 0.25, kAcross = 0.7; // of the normal: faces, not the wall's ends
  const Spot* worst = nullptr;
  for (const Spot& spot : spots) {
    const bool on_face = std::abs(spot.place_mm.x - low_mm.x) < kOnFace_mm ||
                         std::abs(spot.place_mm.x - high_mm.x) < kOnFace_mm;
    if (on_face && spot.place_mm.y > low_mm.y && spot.place_mm.y < high_mm.y &&
        std::abs(spot.normal.x) > kAcross && (worst == nullptr || spot.s() > worst->s()))
      worst = &spot;
  }
  return worst;
}

} // namespace snagmap
