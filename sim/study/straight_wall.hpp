// A straight wall between two pockets, cut down pass by pass: what a preview would ask of it, without cutting
// it.
#pragma once

#include "models/mechanics/snag.hpp"

#include <vector>

namespace snagmap {

struct StraightWall {
  Web web; ///< width, height when done, ends (both alike), contact length, Poisson's ratio, floor
  double length_mm = 100;
  double cutter_radius_mm = 0;
  double flute_length_mm = 0;
  double pass_mm = 0; ///< depth of a pass
};

/// The questions among which the worst of the wall is, over its passes and over the places along it, ends
/// included, as the watch puts them while the second pocket is opened: in a pass deeper than about half of
/// what stands then, the wall is built in where it has twice its thickness beside the cutter's round.
std::vector<SnagQuestion> questions_along(const StraightWall& wall);

/// Gamma of the worst of them, and how many were asked.
struct WorstGamma {
  double value = 0;
  std::size_t asked = 0;
};
WorstGamma worst_gamma(const StraightWall& wall);

} // namespace snagmap
