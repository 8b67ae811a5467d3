// The sheet itself: its thickness, its seams, and the pull on its top edge.
#include "models/mechanics/bite.hpp"
#include "sim/checks/walls.hpp"
#include "sim/path/moves.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

namespace snagmap {
namespace {

constexpr double kLeastFloor_mm2 = 25; // smaller floors near a seam are not worth a word

/// Levels at which a tool cuts flat, in thousandths of a mm, with their first move; tool -1: any.
using Levels = std::map<long, std::uint32_t>;
Levels levels_of(const Path& path, double top_mm, int tool) {
  Levels levels;
  for (std::uint32_t m = 0; m < path.moves.size(); ++m) {
    const Move& move = path.moves[m];
    if (is_feed(move) && (tool < 0 || move.tool == tool) &&
        std::abs(move.to.z - move.from.z) < kSameLevel_mm && move.to.z < top_mm)
      levels.emplace(std::lround(move.to.z / kSameLevel_mm), m);
  }
  return levels;
}

} // namespace

ThicknessCase clipped_case(const RunGrid& grid, double underside_mm, double top_mm, fact::Sheet sheet) {
  ThicknessCase found;
  found.sheet = sheet;
  found.thickness_mm = top_mm - underside_mm;
  found.least_floor_mm = found.thickness_mm;
  const auto low = static_cast<float>(underside_mm), high = static_cast<float>(top_mm);
  for (std::size_t c = 0; c + 1 < grid.offset.size(); ++c) {
    bool resting = true; // still on what lies on the table
    for (const FoamRun* run = grid.begin(c); run != grid.end(c); ++run) {
      const float from = std::max(run->low_mm, low), to = std::min(run->high_mm, high);
      if (!(to > from))
        continue;
      if (run->move != kNever) {
        found.removed_mm3 += (static_cast<double>(to) - from) * grid.cell_mm2();
        if (!resting)
          continue;
        // The lowest cut of the column: what lies under it is its floor.
        if (from > low)
          found.least_floor_mm = std::min<double>(found.least_floor_mm, from - low);
        else
          found.through_mm2 += grid.cell_mm2();
        found.deepest_mm = std::max<double>(found.deepest_mm, high - from);
        resting = false;
      }
    }
  }
  return found;
}

ThicknessTruth check_thickness(const Scene& scene, const Path& path) {
  using Why = fact::ThicknessNotRun::Why;
  ThicknessTruth truth;
  truth.zero_on_table = scene.zero_on_table;
  const double spread = scene.thickness_spread_mm;
  if (!(spread > 0))
    return truth;
  if (scene.stock) {
    truth.why_not = fact::ThicknessNotRun{Why::solid, spread, 0, ""};
    return truth;
  }
  Box3 box = scene.sheet;
  if (!(box.high.z - box.low.z > spread)) {
    truth.why_not = fact::ThicknessNotRun{Why::too_wide, spread, box.high.z - box.low.z, ""};
    return truth;
  }
  (scene.zero_on_table ? box.high.z : box.low.z) += scene.zero_on_table ? spread : -spread;
  StockShape stock;
  stock.box = box;
  CutOptions options;
  options.voxel_mm = scene.voxel_mm;
  const Outcome<RemovalRecord> record = RemovalRecord::cut(stock, scene.cutters, path, options);
  if (!record) {
    truth.why_not = fact::ThicknessNotRun{Why::not_cut, spread, scene.sheet.high.z - scene.sheet.low.z,
                                          record.faults().front().what};
    return truth;
  }
  truth.given = true;
  const RunGrid grid = run_grid(*record);
  const fact::Sheet sheets[] = {fact::Sheet::least, fact::Sheet::nominal, fact::Sheet::most};
  for (int n = 0; n < 3; ++n) {
    const double change = (n - 1) * spread;
    const double low = scene.sheet.low.z - (scene.zero_on_table ? 0 : change);
    const double high = scene.sheet.high.z + (scene.zero_on_table ? change : 0);
    truth.cases.push_back(clipped_case(grid, low, high, sheets[n]));
  }
  return truth;
}

std::vector<EdgeRank> rank_edges(const Scene& scene, const Path& path) {
  const Levels levels = levels_of(path, scene.sheet.high.z, -1);
  const FoamCard& foam = scene.foam_at(scene.sheet.high.z - kSameLevel_mm);
  std::vector<EdgeRank> ranks;
  const auto add = [&](const CutterCard& cutter, bool in_use) {
    EdgeRank rank;
    rank.cutter = cutter.name;
    rank.in_use = in_use;
    for (const auto& [level, move] : levels)
      if (static_cast<double>(level) * kSameLevel_mm + cutter.flute_length_mm >=
          scene.sheet.high.z - kSameLevel_mm)
        ++rank.passes;
    // One mm of edge at saturated force and a quarter turn of engagement: the same cut for every cutter.
    Cut cut;
    cut.chip_mm = std::numeric_limits<double>::infinity();
    cut.engaged_rad = std::acos(0.0);
    cut.depth_mm = 1;
    rank.pull = std::max(0.0, cut_force(cut, cutter, foam).lift_N) / foam.Gc_N_mm.nominal * rank.passes;
    ranks.push_back(rank);
  };
  for (const CutterCard& cutter : scene.cutters)
    add(cutter, true);
  for (const CutterCard& cutter : scene.drawer)
    add(cutter, false);
  std::stable_sort(ranks.begin(), ranks.end(),
                   [](const EdgeRank& a, const EdgeRank& b) { return a.pull > b.pull; });
  return ranks;
}

std::vector<SeamHit> check_seams(const Scene& scene, const Path& path, const RunGrid& grid) {
  std::vector<SeamHit> hits;
  double seam = scene.sheet.low.z;
  for (std::size_t layer = 0; layer + 1 < scene.layers.size(); ++layer) {
    seam += scene.layers[layer].thickness_mm;
    std::map<std::uint32_t, double> floors; // area by the move that leaves the floor
    for (std::size_t c = 0; c + 1 < grid.offset.size(); ++c)
      for (const FoamRun* run = grid.begin(c); run != grid.end(c); ++run) {
        if (run->move != kNever || run + 1 == grid.end(c) || run[1].move == kNever)
          continue;
        if (std::abs(run->high_mm - seam) < kNearSeam_mm)
          floors[run[1].move] += grid.cell_mm2();
      }
    std::map<long, SeamHit> at_height;
    for (const auto& [move, area] : floors) {
      const Move& m = path.moves[move];
      const double z = std::min(m.from.z, m.to.z);
      SeamHit& hit =
          at_height.emplace(std::lround(z / kSameLevel_mm), SeamHit{fact::AtSeam::floor, seam, z, 0, move})
              .first->second;
      hit.area_mm2 += area;
    }
    for (const auto& [height, hit] : at_height)
      if (hit.area_mm2 >= kLeastFloor_mm2)
        hits.push_back(hit);
    for (std::size_t tool = 0; tool < scene.cutters.size(); ++tool)
      for (const auto& [level, move] : levels_of(path, scene.sheet.high.z, static_cast<int>(tool))) {
        const double z = static_cast<double>(level) * kSameLevel_mm,
                     end = z + scene.cutters[tool].flute_length_mm;
        if (std::abs(z - seam) < kNearSeam_mm)
          hits.push_back({fact::AtSeam::step, seam, z, 0, move});
        if (std::abs(end - seam) < kNearSeam_mm)
          hits.push_back({fact::AtSeam::flute_end, seam, end, 0, move});
      }
  }
  return hits;
}

std::optional<fact::ZeroContradicts> zero_contradiction(const Scene& scene, const Path& path) {
  double highest = -std::numeric_limits<double>::infinity();
  for (const Move& move : path.moves) {
    if (!is_feed(move))
      continue;
    highest = std::max(highest, std::min(move.from.z, move.to.z));
  }
  if (!std::isfinite(highest))
    return {};
  if (scene.zero_on_table && highest <= scene.sheet.low.z)
    return fact::ZeroContradicts{highest};
  return {};
}

} // namespace snagmap
