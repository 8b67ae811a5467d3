#include "sim/judge/wall_kind.hpp"

#include <algorithm>

namespace snagmap {
namespace {

constexpr double kFuzz_cells = 3;    // thinner than this and short: no web
constexpr double kCrumb_bites = 2.2; // one from each side, and a tenth: clear of round numbers

} // namespace

bool is_island(const WallSeen& wall) {
  return wall.post && wall.d1_mm + wall.d2_mm < 1.05 * wall.w_mm;
}

bool is_fuzz(const WallSeen& wall, double length_mm, const Sample& sample, const Path& path,
             const Scene& scene) {
  const FoamCard& foam = scene.foam_between(wall.root_z_mm, wall.root_z_mm + wall.h_mm);
  const double bite_mm = foam.bite_depth_mm.nominal;
  if (length_mm >= contact_length_mm(0.5 * scene.cutters[path.moves[sample.move].tool].diameter_mm, bite_mm))
    return false;
  const bool free = wall.end1 == WebEnd::free && wall.end2 == WebEnd::free && !wall.ring;
  return wall.w_mm < kFuzz_cells * foam.cell_mm.nominal ||
         (free && std::min(wall.w_mm, length_mm) <= kCrumb_bites * bite_mm);
}

} // namespace snagmap
