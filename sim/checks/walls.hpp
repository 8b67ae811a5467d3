// Wall truth: what the finished part is like once the foam has sprung back, and what the sheet's own spread
// does to it.
#pragma once

#include "sim/findings/finding.hpp"
#include "sim/judge/judged_job.hpp"
#include "sim/probe/run_grid.hpp"

#include <optional>
#include <string>
#include <vector>

namespace snagmap {

/// Error of a finished wall where the cutter passed it: + over-cut (it leaned in and was cut again), - foam
/// left.
struct WallError {
  Vec3 place_mm; ///< on the wall, at the root
  float top_z_mm = 0, error_mm = 0;
  std::uint32_t move = 0;
  std::int32_t line = 0, web = 0;
  float time_s = 0;
};

/// A finished wall of one web as a pocket's side: what its lean does to the fit at the floor and at the top.
struct PocketFit {
  int web = 0;
  Vec3 place_mm;
  std::int32_t line = 0; ///< of the pass that cuts the floor
  double time_s = 0;
  bool known = false; ///< false: S is 1 or more in some pass, and millimetres mean nothing there
  double floor_mm = 0, floor_low_mm = 0, floor_high_mm = 0; ///< + the pocket is wider than drawn
  double top_mm = 0;
};

struct WallTruth {
  double tolerance_mm = 0;
  std::vector<WallError> errors;                      ///< along the path; finished walls only
  std::vector<PocketFit> fits;                        ///< by the size of the larger error, unknown ones first
  std::size_t unknown = 0;                            ///< samples beside finished walls whose S is 1 or more
  std::optional<WallError> worst_unknown;             ///< the one of the largest S; its errors mean nothing
  double most_over_mm = 0, most_left_mm = 0;          ///< both as positive sizes
  std::size_t over_tolerance = 0, left_tolerance = 0; ///< samples beyond the tolerance
};
WallTruth check_walls(const JudgedJob& job);

/// The job in a sheet of another thickness.
struct ThicknessCase {
  fact::Sheet sheet = fact::Sheet::nominal;
  double thickness_mm = 0;
  double least_floor_mm = 0; ///< of all floors that are left; the thickness where nothing is cut
  double through_mm2 = 0;    ///< floor cut through
  double deepest_mm = 0;     ///< deepest wall: sheet's top over the lowest floor or the table
  double removed_mm3 = 0;
};
struct ThicknessTruth {
  bool given = false; ///< a spread is given, so the cases are filled
  bool zero_on_table = false;
  std::vector<ThicknessCase> cases; ///< least, nominal, most
  std::optional<fact::ThicknessNotRun> why_not;
};
/// Cuts the thickest sheet once; thinner ones are the same cuts clipped, exactly, since what a move removes
/// does not depend on where the sheet ends. `thickness_spread_mm` counts both ways. Nothing is done without a
/// spread.
ThicknessTruth check_thickness(const Scene& scene, const Path& path);
/// One case by clipping a grid to underside..top.
ThicknessCase clipped_case(const RunGrid& grid, double underside_mm, double top_mm, fact::Sheet sheet);

/// How hard a cutter pulls the top edge up, as a rank between cutters: no millimetres.
struct EdgeRank {
  std::string cutter;
  bool in_use = false; ///< false: in the drawer
  double pull = 0;     ///< upward helix pull on the edge over the foam's Gc, times passes that reach it
  int passes = 0;      ///< levels of the program at which its flutes reach the top edge
};
/// Hardest first. Every cutter is tried on the levels of the whole program.
std::vector<EdgeRank> rank_edges(const Scene& scene, const Path& path);

/// A floor, a layer step or a flute end within 1 mm of a seam of a laminated sheet.
struct SeamHit {
  fact::AtSeam what = fact::AtSeam::floor;
  double seam_z_mm = 0, at_z_mm = 0, area_mm2 = 0; ///< area: floors only
  std::uint32_t move = 0;                          ///< the first that comes there
};
constexpr double kNearSeam_mm = 1;
std::vector<SeamHit> check_seams(const Scene& scene, const Path& path, const RunGrid& grid);

/// Set when the program and the place of the zero contradict each other.
std::optional<fact::ZeroContradicts> zero_contradiction(const Scene& scene, const Path& path);

std::vector<Finding> wall_findings(const WallTruth& walls, const ThicknessTruth& thickness,
                                   const std::vector<EdgeRank>& edges, const std::vector<SeamHit>& seams,
                                   const std::optional<fact::ZeroContradicts>& zero, const Path& path,
                                   const Motion& motion);

} // namespace snagmap
