#include "sim/watch/watch.hpp"

#include "models/base/finite.hpp"
#include "sim/threads/parallel.hpp"
#include "sim/watch/look_out.hpp"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <mutex>
#include <optional>

namespace snagmap {
namespace {

constexpr int kSectors = 16;
constexpr double kTwoPi = 6.283185307179586476925286766559;

/// The sectors, those square to the travel first: finished walls lie there.
std::array<Vec2, kSectors> sector_directions(Vec2 heading) {
  if (norm(heading) < 0.5)
    heading = {1, 0};
  std::array<Vec2, kSectors> all;
  const int order[kSectors] = {4, 12, 0, 8, 3, 5, 11, 13, 2, 6, 10, 14, 1, 7, 9, 15};
  for (int i = 0; i < kSectors; ++i) {
    const double angle = kTwoPi * order[i] / kSectors, c = std::cos(angle), s = std::sin(angle);
    all[i] = {c * heading.x - s * heading.y, s * heading.x + c * heading.y};
  }
  return all;
}

} // namespace

Watched watch(const RemovalRecord& record, const Path& path, const std::vector<CutterCard>& cutters,
              const std::vector<Sample>& samples, const WatchOptions& options) {
  require_finite("the options of the watch", options.cap_mm, options.reach_mm, options.thin_mm,
                 options.least_gamma, options.b_p_mm, options.nu);
  constexpr std::size_t kBlock = 64;
  const std::size_t blocks = (samples.size() + kBlock - 1) / kBlock;
  std::vector<std::vector<WallSeen>> found(blocks), thin(blocks);
  std::vector<std::size_t> rays(blocks);
  std::mutex telling;
  std::size_t done = 0;
  std::atomic<bool> stop{false};

  parallel_each(blocks, [&](std::size_t block) {
    if (stop.load(std::memory_order_relaxed))
      return;
    for (std::size_t i = block * kBlock; i < std::min(samples.size(), (block + 1) * kBlock); ++i) {
      const CutterCard& cutter = cutters[path.moves[samples[i].move].tool];
      std::vector<Vec2> taken;
      for (Vec2 direction : sector_directions(samples[i].heading)) {
        const bool again = std::any_of(taken.begin(), taken.end(),
                                       [&](Vec2 n) { return dot(n, direction) > kSameWall_cos; });
        if (again)
          continue;
        if (std::optional<WallSeen> wall =
                wall_toward(record, cutter, samples[i], direction, options, rays[block])) {
          wall->sample = static_cast<std::uint32_t>(i);
          taken.push_back(wall->normal);
          (wall->w_mm <= options.thin_mm ? thin : found)[block].push_back(std::move(*wall));
        }
      }
    }
    if (!options.progress)
      return;
    const std::lock_guard<std::mutex> hold(telling);
    if (!options.progress(static_cast<double>(++done) / blocks))
      stop = true;
  });

  Watched watched;
  watched.stopped = stop;
  for (std::size_t block = 0; block < blocks; ++block) {
    watched.rays += rays[block];
    std::move(found[block].begin(), found[block].end(), std::back_inserter(watched.walls));
    std::move(thin[block].begin(), thin[block].end(), std::back_inserter(watched.thin));
  }
  return watched;
}

} // namespace snagmap
