#include "sim/findings/cuts_nothing.hpp"

#include "sim/path/moves.hpp"
#include "sim/probe/volumes.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

struct Lowest {
  double z_mm;
  std::int32_t line;
};

/// What the feed moves visit below a height, and the lowest place of all.
struct Visited {
  std::optional<Lowest> lowest; ///< none: no feed move
  std::optional<Box3> below;    ///< of places below the height, with the cutter's radius round them
  bool over_sheet = false;      ///< a move that goes below has the sheet's plan within its box
};

Visited visited(const Scene& scene, const Path& path) {
  Visited seen;
  const Box3& sheet = scene.sheet;
  for (const Move& move : path.moves) {
    if (!is_feed(move))
      continue;
    const double r = 0.5 * scene.cutters[static_cast<std::size_t>(move.tool)].diameter_mm;
    const int steps = move.kind == MoveKind::arc ? 64 : 1;
    Vec3 low = move.from, high = move.from;
    for (int i = 0; i <= steps; ++i) {
      const Vec3 p = point_at(move, static_cast<double>(i) / steps);
      low = {std::min(low.x, p.x), std::min(low.y, p.y), std::min(low.z, p.z)};
      high = {std::max(high.x, p.x), std::max(high.y, p.y), std::max(high.z, p.z)};
    }
    if (!seen.lowest || low.z < seen.lowest->z_mm)
      seen.lowest = Lowest{low.z, move.line};
    if (!(low.z < sheet.high.z))
      continue;
    low = low - Vec3{r, r, 0}, high = high + Vec3{r, r, 0};
    Box3 box = seen.below.value_or(Box3{low, high});
    box.low = {std::min(box.low.x, low.x), std::min(box.low.y, low.y), std::min(box.low.z, low.z)};
    box.high = {std::max(box.high.x, high.x), std::max(box.high.y, high.y), std::max(box.high.z, high.z)};
    seen.below = box;
    seen.over_sheet = seen.over_sheet || (low.x < sheet.high.x && high.x > sheet.low.x &&
                                          low.y < sheet.high.y && high.y > sheet.low.y);
  }
  return seen;
}

Fault nothing(const Scene& scene, std::int32_t line, const std::string& why, const std::string& way_out) {
  return Fault("the program cuts nothing: " + why, way_out, scene.program_file, line);
}

} // namespace

std::optional<Fault> no_feed_move(const Scene& scene, const Path& path) {
  if (std::any_of(path.moves.begin(), path.moves.end(), is_feed))
    return {};
  return nothing(scene, 0, "it has no feed move",
                 "cuts are G1, G2, G3 or a drilling cycle with their axis words");
}

std::optional<Fault> cuts_nothing(const Scene& scene, const Path& path, const RemovalRecord& record) {
  if (removes_foam(record))
    return {};
  if (auto fault = no_feed_move(scene, path))
    return fault;
  const Visited seen = visited(scene, path);
  const Box3& sheet = scene.sheet;
  if (!seen.below)
    return nothing(
        scene, seen.lowest->line,
        fmt::format("its lowest point, z {:.2f} mm, is not below the sheet's top, z {:.2f} mm",
                    seen.lowest->z_mm, sheet.high.z),
        scene.zero_on_table
            ? "is the zero on the sheet's top? zero_on = \"top\" in [sheet]; or is the thickness wrong?"
            : "is the zero on the table? zero_on = \"table\" and the thickness in [sheet]; or does a G92 or "
              "a start stand too high?");
  const std::string cuts_where = fmt::format(
      "below the sheet's top, z {:.2f} mm, it goes from X{:.2f} to X{:.2f} and Y{:.2f} to Y{:.2f} mm, "
      "down to z {:.2f} mm",
      sheet.high.z, seen.below->low.x, seen.below->high.x, seen.below->low.y, seen.below->high.y,
      seen.lowest->z_mm);
  if (!seen.over_sheet)
    return nothing(
        scene, seen.lowest->line,
        fmt::format("{}; the sheet lies beside that, from X{:.2f} to X{:.2f} and Y{:.2f} to Y{:.2f} mm",
                    cuts_where, sheet.low.x, sheet.high.x, sheet.low.y, sheet.high.y),
        "check size and zero in [sheet]");
  return nothing(scene, seen.lowest->line,
                 cuts_where + (scene.stock ? ", and meets only pockets that the sheet came with"
                                           : ", and passes beside or through air alone"),
                 "check stock, zero and zero_on in [sheet]");
}

} // namespace snagmap
