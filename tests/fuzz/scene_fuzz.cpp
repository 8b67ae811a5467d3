// Any bytes as a scene: no crash, no hang; either a scene that later stages can rely on, or faults that say
// something.
#include "sim/scene/scene.hpp"

#include <cmath>
#include <cstddef>
#include <cstdint>
#include <string>

namespace {

void demand(bool fact) {
  if (!fact)
    __builtin_trap();
}

bool finite(const snagmap::Vec3& p) {
  return std::isfinite(p.x) && std::isfinite(p.y) && std::isfinite(p.z);
}

} // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string text(reinterpret_cast<const char*>(data), size);
  const auto scene = snagmap::parse_scene(text, "fuzz.toml", "/nowhere");
  if (!scene) {
    demand(!scene.faults().empty());
    for (const snagmap::Fault& fault : scene.faults())
      demand(!fault.what.empty() && !snagmap::to_text(fault).empty());
    return 0;
  }
  demand(!scene->layers.empty() && !scene->cutters.empty());
  demand(finite(scene->sheet.low) && finite(scene->sheet.high));
  demand(scene->voxel_mm > 0 && scene->tolerance_mm > 0 && scene->sample_mm >= 0);
  for (const snagmap::CutterCard& cutter : scene->cutters)
    demand(cutter.diameter_mm > 0 && cutter.flute_length_mm > 0);
  return 0;
}
