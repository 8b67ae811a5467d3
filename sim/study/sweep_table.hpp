// What a campaign's table says about walls: the narrowest that holds, and how two cutters compare.
#pragma once

#include "models/base/fault.hpp"

#include <string>
#include <vector>

namespace snagmap {

/// Narrowest wall that holds for one foam, cutter, pass and height: where S crosses 1, between two walls of
/// the table by logarithms of S and width. `low` and `high` at the ends of Lambda's band; 0 when even the
/// thinnest wall holds, infinite when the thickest does not.
struct NarrowestWall {
  std::string foam, cutter;
  double diameter_mm = 0, flute_length_mm = 0, pass_mm = 0, height_mm = 0, length_mm = 0;
  double width_mm = 0, low_mm = 0, high_mm = 0;
};

/// Longer over shorter flutes in one foam, pass and height: how much narrower a wall the shorter flutes leave
/// standing. Both cutters meet the same Lambda, so its uncertainty cancels in most of the ratio.
struct CutterRanking {
  std::string foam, longer, shorter;
  double pass_mm = 0, height_mm = 0;
  double ratio = 0, low = 0, high = 0;
};

/// Reads table.csv. Faults: not a campaign's table, a row with other columns (its line named).
Outcome<std::vector<NarrowestWall>> narrowest_walls(const std::string& table, const std::string& name);
/// Every pair of cutters whose narrowest walls are both known.
std::vector<CutterRanking> cutter_rankings(const std::vector<NarrowestWall>& walls);

} // namespace snagmap
