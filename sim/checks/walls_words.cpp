// Wall truth in words.
#include "sim/checks/walls.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

constexpr std::size_t kWallsTold = 5;

Finding about(const char* key, std::string words) {
  Finding finding;
  finding.kind = key;
  finding.words = std::move(words);
  return finding;
}

Finding about(const char* key, std::string words, std::int32_t line, double time_s, Vec3 place) {
  Finding finding = about(key, std::move(words));
  finding.program_line = line;
  finding.time_s = time_s;
  finding.place_mm = place;
  return finding;
}

std::string wider(double mm) {
  return fmt::format("{:.2f} mm {}", std::abs(mm), mm >= 0 ? "wider" : "tighter");
}

const char* to_text(SeamHit::What what) {
  switch (what) {
  case SeamHit::What::floor:
    return "a floor";
  case SeamHit::What::step:
    return "a layer step";
  case SeamHit::What::flute_end:
    break;
  }
  return "the upper end of the flutes";
}

void say_walls(const WallTruth& walls, std::vector<Finding>& out) {
  if (walls.worst_unknown)
    out.push_back(about(
        "wall-unknown",
        fmt::format("at {} places beside finished walls S is 1 or more, here most: no error in mm can be "
                    "foretold there",
                    walls.unknown),
        walls.worst_unknown->line, walls.worst_unknown->time_s, walls.worst_unknown->place_mm));
  std::size_t told = 0;
  for (const PocketFit& fit : walls.fits) {
    if (!fit.known)
      continue;
    if (std::max(std::abs(fit.floor_mm), std::abs(fit.top_mm)) <= walls.tolerance_mm || told++ == kWallsTold)
      break;
    out.push_back(
        about("wall-error",
              fmt::format(
                  "web {}: sprung back, this side of the pocket is {} at the floor ({:.2f} to {:.2f} mm) and "
                  "{} at the top; the tolerance is {:.2f} mm",
                  fit.web, wider(fit.floor_mm), fit.floor_low_mm, fit.floor_high_mm, wider(fit.top_mm),
                  walls.tolerance_mm),
              fit.line, fit.time_s, fit.place_mm));
  }
}

void say_thickness(const ThicknessTruth& thickness, std::vector<Finding>& out) {
  if (!thickness.why_not.empty())
    out.push_back(
        about("thickness-not-run", "the sheet's thickness spread was not run: " + thickness.why_not));
  if (!thickness.given)
    return;
  std::string words = thickness.zero_on_table ? "zero on the table: depths follow the sheet"
                                              : "zero on top: floors follow the sheet";
  for (const ThicknessCase& one : thickness.cases)
    words += fmt::format("; {} {:.2f} mm thick: thinnest floor {:.2f} mm, deepest wall {:.2f} mm{}", one.name,
                         one.thickness_mm, one.least_floor_mm, one.deepest_mm,
                         one.through_mm2 > 0 ? fmt::format(", cut through over {:.0f} mm2", one.through_mm2)
                                             : std::string());
  out.push_back(about("thickness-spread", words));
  const ThicknessCase &least = thickness.cases.front(), &nominal = thickness.cases[1];
  if (least.through_mm2 > nominal.through_mm2)
    out.push_back(
        about("thin-sheet-cut-through",
              fmt::format("in the thinnest sheet the floor is cut through over {:.0f} mm2 more than in "
                          "the nominal one",
                          least.through_mm2 - nominal.through_mm2)));
}

} // namespace

std::vector<Finding> wall_findings(const WallTruth& walls, const ThicknessTruth& thickness,
                                   const std::vector<EdgeRank>& edges, const std::vector<SeamHit>& seams,
                                   const std::string& zero, const Path& path, const Motion& motion) {
  std::vector<Finding> findings;
  if (!zero.empty())
    findings.push_back(about("zero-contradicts", zero));
  say_walls(walls, findings);
  say_thickness(thickness, findings);
  for (const SeamHit& hit : seams)
    findings.push_back(about(
        "near-seam",
        fmt::format("{} at z {:.2f} mm lies within {:g} mm of the seam at z {:.2f} mm{}: glue loads the "
                    "cutter and the seam may peel",
                    to_text(hit.what), hit.at_z_mm, kNearSeam_mm, hit.seam_z_mm,
                    hit.area_mm2 > 0 ? fmt::format(" ({:.0f} mm2)", hit.area_mm2) : std::string()),
        path.moves[hit.move].line, motion.start_s[hit.move], path.moves[hit.move].from));
  if (edges.size() > 1 && edges.front().pull > edges.back().pull) {
    std::string words = "upward pull on the top edge, hardest first (a rank, no size):";
    for (const EdgeRank& edge : edges)
      words +=
          fmt::format(" {}{} ({} passes)", edge.cutter, edge.in_use ? "" : " from the drawer", edge.passes);
    findings.push_back(about("top-edge-rank", words));
  }
  return findings;
}

} // namespace snagmap
