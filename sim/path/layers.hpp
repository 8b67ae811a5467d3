// A path seen as layers and loops.
#pragma once

#include "sim/path/path.hpp"

#include <cstddef>
#include <vector>

namespace snagmap {

/// Feed moves without a rapid or a stand between them, on one level: what is cut in one go.
struct PathLayer {
  std::size_t first = 0, last = 0; ///< moves [first, last)
  std::vector<std::size_t>
      before;           ///< stands (M0, dwells) since the layer before, those of a tool's change apart
  double level_mm = 0;  ///< of the pass
  double above_mm = 0;  ///< level cut before in this pocket, or the sheet's top
  Vec2 low_mm, high_mm; ///< of the tip in plan
};
/// Those that go below the sheet's top, in the order of the program.
std::vector<PathLayer> path_layers(const Path& path, double top_mm);

/// A closed level loop of moves [first, last).
struct PathLoop {
  std::size_t first = 0, last = 0;
  double area_mm2 = 0; ///< it goes round, anticlockwise positive
};
/// Those of a layer in order, none within another.
std::vector<PathLoop> closed_loops(const Path& path, const PathLayer& layer);

/// All of the move lies on a level; an arc outside the xy plane leaves it between its ends.
bool on_level(const Move& move, double level_mm);

/// The part of a move between two shares of its length.
Move part_of(const Move& move, double from, double to);
/// The same way back.
Move reversed(const Move& move);

/// Level of the pass of every move, mm. A descending ramp, helix or rapid takes the level where it ends, a
/// way up that which it leaves, in however many pieces they are written.
std::vector<double> pass_levels_mm(const Path& path);

} // namespace snagmap
