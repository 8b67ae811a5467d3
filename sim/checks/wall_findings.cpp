// Wall truth as findings.
#include "sim/checks/walls.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

constexpr std::size_t kWallsTold = 5;

void say_walls(const WallTruth& walls, std::vector<Finding>& out) {
  if (walls.worst_unknown)
    out.push_back(at_moment(fact::WallUnknown{walls.unknown}, walls.worst_unknown->line,
                            walls.worst_unknown->time_s, walls.worst_unknown->place_mm));
  std::size_t told = 0;
  for (const PocketFit& fit : walls.fits) {
    if (!fit.known)
      continue;
    if (std::max(std::abs(fit.floor_mm), std::abs(fit.top_mm)) <= walls.tolerance_mm || told++ == kWallsTold)
      break;
    out.push_back(at_moment(fact::WallError{fit.web, fit.floor_mm, fit.floor_low_mm, fit.floor_high_mm,
                                            fit.top_mm, walls.tolerance_mm},
                            fit.line, fit.time_s, fit.place_mm));
  }
}

void say_thickness(const ThicknessTruth& thickness, std::vector<Finding>& out) {
  if (thickness.why_not)
    out.push_back(whole_job(*thickness.why_not));
  if (!thickness.given)
    return;
  fact::ThicknessSpread spread{thickness.zero_on_table, {}};
  for (const ThicknessCase& one : thickness.cases)
    spread.cases.push_back(
        {one.sheet, one.thickness_mm, one.least_floor_mm, one.deepest_mm, one.through_mm2});
  out.push_back(whole_job(std::move(spread)));
  const ThicknessCase &least = thickness.cases.front(), &nominal = thickness.cases[1];
  if (least.through_mm2 > nominal.through_mm2)
    out.push_back(whole_job(fact::ThinSheetCutThrough{least.through_mm2 - nominal.through_mm2}));
}

} // namespace

std::vector<Finding> wall_findings(const WallTruth& walls, const ThicknessTruth& thickness,
                                   const std::vector<EdgeRank>& edges, const std::vector<SeamHit>& seams,
                                   const std::optional<fact::ZeroContradicts>& zero, const Path& path,
                                   const Motion& motion) {
  std::vector<Finding> findings;
  if (zero)
    findings.push_back(whole_job(*zero));
  say_walls(walls, findings);
  say_thickness(thickness, findings);
  for (const SeamHit& hit : seams)
    findings.push_back(
        at_moment(fact::NearSeam{hit.what, hit.at_z_mm, hit.seam_z_mm, kNearSeam_mm, hit.area_mm2},
                  path.moves[hit.move].line, motion.start_s[hit.move], path.moves[hit.move].from));
  if (edges.size() > 1 && edges.front().pull > edges.back().pull) {
    fact::TopEdgeRank rank;
    for (const EdgeRank& edge : edges)
      rank.hardest_first.push_back({edge.cutter, edge.in_use, edge.passes});
    findings.push_back(whole_job(std::move(rank)));
  }
  return findings;
}

} // namespace snagmap
