#include "sim/findings/unit_slips.hpp"

#include <algorithm>

namespace snagmap {
namespace {

void add_dwells(const Path& path, const Motion& motion, std::vector<Finding>& out) {
  std::size_t first = path.moves.size(), count = 0;
  for (std::size_t m = 0; m < path.moves.size(); ++m) {
    if (path.moves[m].kind != MoveKind::dwell || !(path.moves[m].feed_mm_min > kLongDwell_s))
      continue;
    if (count++ == 0)
      first = m;
  }
  if (count == 0)
    return;
  const Move& move = path.moves[first];
  out.push_back(
      at_moment(fact::LongDwell{move.feed_mm_min, count - 1}, move.line, motion.start_s[first], move.from));
}

void add_sheet(const Scene& scene, const Path& path, std::vector<Finding>& out) {
  const Box3 box = scene.sheet_given ? scene.sheet : feed_extents(path).value_or(Box3{});
  const double x = box.high.x - box.low.x, y = box.high.y - box.low.y;
  if (!(std::max(x, y) > kLargeSheet_mm))
    return;
  out.push_back(whole_job(fact::LargeSheet{x, y, scene.sheet_given, path.inch}));
}

} // namespace

std::vector<Finding> unit_slips(const Scene& scene, const Path& path, const Motion& motion) {
  std::vector<Finding> findings;
  add_dwells(path, motion, findings);
  add_sheet(scene, path, findings);
  return findings;
}

} // namespace snagmap
