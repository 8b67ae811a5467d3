#include "sim/preview/memory_need.hpp"

#include "sim/record/estimate.hpp"
#include "sim/record/record.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <fstream>
#include <limits>
#include <string>

namespace snagmap {
namespace {

/// The search for loose pieces holds every run of foam, 12 bytes of run and 56 of forest
/// (sim/hold/break_up.hpp), and again in the view without skins where there are any. It is the
/// preview's peak; there is about a run for each interval and each column. Measured on the demo, which has no
/// skins: 83.
constexpr double kBytesARun = 100;

std::size_t number_in(const char* file) {
  std::ifstream in(file);
  std::size_t value = std::numeric_limits<std::size_t>::max(); // "max": no limit
  return in >> value ? value : std::numeric_limits<std::size_t>::max();
}

} // namespace

std::size_t free_memory_bytes() {
  std::size_t free = 0;
  std::ifstream info("/proc/meminfo");
  for (std::string word; info >> word;)
    if (word == "MemAvailable:" && info >> free)
      free *= 1024;
  const std::size_t most = number_in("/sys/fs/cgroup/memory.max"),
                    taken = number_in("/sys/fs/cgroup/memory.current");
  if (most != std::numeric_limits<std::size_t>::max() && taken <= most)
    free = std::min(free, most - taken);
  return free;
}

std::optional<Fault> would_not_fit(const Scene& scene, const Path& path, std::size_t limit_bytes) {
  const auto record = RemovalRecord::estimate(stock_of(scene), scene.cutters, path, scene.voxel_mm);
  if (!record)
    return record.faults().front();
  const double fixed = static_cast<double>(record->fixed_bytes), limit = static_cast<double>(limit_bytes),
               by_column = static_cast<double>(record->bytes) - fixed +
                           kBytesARun * static_cast<double>(record->intervals + record->columns);
  if (fixed + by_column <= limit)
    return {};
  return Fault(
      fmt::format("at voxels of {:g} mm the preview would take about {:.0f} MB; {:.0f} MB are allowed",
                  scene.voxel_mm, 1e-6 * (fixed + by_column), 1e-6 * limit),
      way_to_fit(voxel_that_fits(scene.voxel_mm, by_column, limit - fixed)));
}

} // namespace snagmap
