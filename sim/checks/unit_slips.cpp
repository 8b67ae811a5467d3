#include "sim/checks/unit_slips.hpp"

#include <fmt/format.h>

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
  const double seconds = move.feed_mm_min;
  Finding finding;
  finding.kind = "long-dwell";
  finding.program_line = move.line;
  finding.time_s = motion.start_s[first];
  finding.place_mm = move.from;
  finding.words = fmt::format("a dwell of {:g} s, {:.1f} minutes: P counts seconds here; was it meant in "
                              "milliseconds, {:g} s?",
                              seconds, seconds / 60, seconds / 1000);
  if (count > 1)
    finding.words += fmt::format(" {} more dwells are over a minute", count - 1);
  out.push_back(std::move(finding));
}

void add_sheet(const Scene& scene, const Path& path, std::vector<Finding>& out) {
  const Box3 box = scene.sheet_given ? scene.sheet : feed_extents(path).value_or(Box3{});
  const double x = box.high.x - box.low.x, y = box.high.y - box.low.y;
  if (!(std::max(x, y) > kLargeSheet_mm))
    return;
  const char* what = scene.sheet_given ? "the sheet is" : "the program goes over";
  const char* cause =
      scene.sheet_given ? "is its size in the right unit? A size in inches where millimetres were "
                          "meant comes out 25.4 times too large"
      : path.inch       ? "the program is read in inch (G20): were its numbers meant in mm (G21)? Taken "
                          "for inches they come out 25.4 times too large"
                        : "is a decimal point missing, or a number in inches multiplied twice?";
  Finding finding;
  finding.kind = "large-sheet";
  finding.words = fmt::format("{} {:.0f} x {:.0f} mm, over two metres: {}", what, x, y, cause);
  out.push_back(std::move(finding));
}

} // namespace

std::vector<Finding> unit_slips(const Scene& scene, const Path& path, const Motion& motion) {
  std::vector<Finding> findings;
  add_dwells(path, motion, findings);
  add_sheet(scene, path, findings);
  return findings;
}

} // namespace snagmap
