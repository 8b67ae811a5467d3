// Changed programs: a path rewritten the way a person would rewrite the program, for trying out what it would
// do.
#pragma once

#include "sim/path/layers.hpp"

#include <optional>
#include <utility>
#include <vector>

namespace snagmap {

/// Every pass deeper than `pass_mm` cut in equal passes that are not. Empty when no pass is.
std::optional<Path> with_pass_depth(const Path& path, double top_mm, double pass_mm);

/// The layers of `moved` (indices, ascending) cut before layer `before`. Layers between stay in order.
Path with_order(const Path& path, double top_mm, const std::vector<std::size_t>& moved, std::size_t before);

/// The last closed loop of every layer left out and cut when its pocket is at full depth, from the top down:
/// the loops before it leave the stock, these take it off lightly. Empty when no layer has two loops.
std::optional<Path> with_finish_last(const Path& path, double top_mm);

/// Closed loops below the top run the other way round: climb becomes conventional and back. Empty without
/// loops.
std::optional<Path> with_loops_reversed(const Path& path, double top_mm);

/// Feeds of the moves below the top times a factor.
Path with_feed(const Path& path, double top_mm, double factor);

/// A place on a path.
struct PathCutAt {
  std::size_t move = 0;
  double share = 0;
};
/// At each place a lift over the sheet and back down.
Path with_lifts(const Path& path, double top_mm, std::vector<PathCutAt> places);

/// A hole of the cutter's own diameter plunged at each place, down to the tip's height there, before the
/// layer that holds the place.
Path with_holes(const Path& path, double top_mm, std::vector<PathCutAt> places);

/// The loop that goes along the wall (the one round the largest area) cut before the rest of its layer: the
/// strands of clearing are then short where they meet it. Empty when no layer has a later loop along the
/// wall.
std::optional<Path> with_walls_first(const Path& path, double top_mm);

/// Slots across the layers that hold moves of a range of `within` (first and last index), cut before them on
/// their level, no further than `apart_mm` from one another in X and Y and only where the layer clears the
/// foam itself: between neighbouring ways that cross the slot steeply, less than a cutter apart.
/// `diameter_mm`: of each cutter. No slot is longer than `longest_mm` in one go. Empty when no layer has room
/// for one.
std::optional<Path> with_cross_cuts(const Path& path, double top_mm,
                                    const std::vector<std::pair<std::size_t, std::size_t>>& within,
                                    const std::vector<double>& diameter_mm, double apart_mm,
                                    double longest_mm);

/// No move lower than `least_z_mm`: a skin stays on the table. Empty when none is.
std::optional<Path> with_skin(const Path& path, double least_z_mm);

/// Bridges left standing at `count` places of every closed loop that goes down to `through_z_mm` or below:
/// the tip is raised by `height_mm` over `width_mm` of way (the cutter's diameter included). Empty when no
/// loop does.
std::optional<Path> with_tabs(const Path& path, double top_mm, double through_z_mm, int count,
                              double width_mm, double height_mm);

} // namespace snagmap
