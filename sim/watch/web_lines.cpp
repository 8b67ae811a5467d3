#include "sim/watch/web_lines.hpp"

namespace snagmap {

std::size_t walk_to_ends(WallSeen& wall, const RemovalRecord& record, Instant t) {
  const WebPlace place{wall.middle_mm, left_of(wall.normal), wall.root_z_mm + kWalkAt * wall.h_mm, wall.w_mm,
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

Walked web_in_sheet(const WallSeen& wall, const RemovalRecord& record) {
  return walk_web(
      record,
      {wall.home_mm, left_of(wall.normal), wall.root_z_mm + kWalkAt * wall.h_mm, wall.home_w_mm, wall.h_mm},
      record.end());
}

} // namespace snagmap
