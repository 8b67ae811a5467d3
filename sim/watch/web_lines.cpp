#include "sim/watch/web_lines.hpp"

#include "models/polyline.hpp"
#include "sim/watch/web_index.hpp"
#include "sim/watch/web_walk.hpp"

#include <algorithm>
#include <cmath>
#include <map>

namespace snagmap {
namespace {

constexpr std::uint32_t kFresh_moves =
    200;                     // a line older than this may have lost foam at its ends: walk again
constexpr double kFar_h = 6; // as far as a walk goes
// A sample takes a line's ends only if that line's wall is no thicker than what the sample sees: past a
// pocket's corner the thick foam beside a wall has a middle line too, close by, and its ends are not the
// wall's. The other way round the sample looks through the wall at an angle, and the wall's ends are its own.
constexpr double kSame = 0.2;

void place_on(const WallSeen& walked, WallSeen& wall) {
  const NearestOnLine nearest = nearest_on_line(walked.midline_mm, wall.middle_mm);
  const double at = nearest.along_mm, total = nearest.length_mm;
  const double far = kFar_h * wall.h_mm;
  auto distance = [&](double d, double seen) {
    return seen >= kFar_h * walked.h_mm - 1e-9 ? far : std::min(d, far);
  };
  wall.d1_mm = walked.ring ? far : distance(at, walked.d1_mm);
  wall.d2_mm = walked.ring ? far : distance(total - at, walked.d2_mm);
  wall.end1 = walked.end1;
  wall.end2 = walked.end2;
  wall.ring = walked.ring;
  wall.junction = walked.junction;
  wall.post = walked.post;
  wall.fill = walked.fill;
  wall.midline_mm = walked.midline_mm;
}

bool same_wall(const WallSeen& walked, const WallSeen& wall) {
  return walked.w_mm < (1 + kSame) * wall.w_mm && std::abs(walked.h_mm - wall.h_mm) < kSame * wall.h_mm;
}

} // namespace

std::size_t walk_to_ends(WallSeen& wall, const RemovalRecord& record, Moment t) {
  const WebPlace place{wall.middle_mm, left_of(wall.normal), wall.root_z_mm + 0.5 * wall.h_mm, wall.w_mm,
                       wall.h_mm};
  const Walked walked = walk_web(record, place, t);
  wall.d1_mm = walked.d1_mm;
  wall.d2_mm = walked.d2_mm;
  wall.end1 = walked.end1;
  wall.end2 = walked.end2;
  wall.ring = walked.ring;
  wall.junction = walked.junction;
  wall.post = walked.post;
  wall.fill = walked.fill;
  wall.midline_mm = walked.line;
  return walked.rays;
}

std::size_t find_ends(std::vector<WallSeen>& walls, const std::vector<Sample>& samples,
                      const RemovalRecord& record) {
  struct Pass {
    WebIndex index;
    std::vector<std::size_t> walked; // walls, by line
  };
  std::map<long, Pass> passes; // by level in hundredths of a millimetre
  std::size_t rays = 0;
  for (std::size_t i = 0; i < walls.size(); ++i) {
    WallSeen& wall = walls[i];
    const Sample& sample = samples[wall.sample];
    Pass& pass = passes[std::lround(100 * sample.pass_z_mm)];
    const double reach = std::clamp(0.25 * wall.w_mm, 0.5, 2.0);
    const int line = pass.index.find_newest(wall.middle_mm, left_of(wall.normal), reach, [&](int candidate) {
      const WallSeen& walked = walls[pass.walked[static_cast<std::size_t>(candidate)]];
      return sample.move - samples[walked.sample].move <= kFresh_moves && same_wall(walked, wall);
    });
    if (line >= 0) {
      place_on(walls[pass.walked[static_cast<std::size_t>(line)]], wall);
      continue;
    }
    rays += walk_to_ends(wall, record, sample.move + 1);
    pass.index.add(static_cast<int>(pass.walked.size()), wall.midline_mm);
    pass.walked.push_back(i);
  }
  return rays;
}

} // namespace snagmap
