// The ends of webs: walked once for each web and pass, looked up for every other sample beside it.
#pragma once

#include "sim/watch/watch.hpp"

#include <vector>

namespace snagmap {

/// Walks from the wall's middle to both ends in the stock of `t`; returns the looks it took.
std::size_t walk_to_ends(WallSeen& wall, const RemovalRecord& record, Moment t);

/// Fills ends and mid-lines of all walls: the first wall of a web in a pass is walked, later ones are placed
/// on that line; a web met again long after is walked again. Serial and in order, so the same on any thread
/// count.
std::size_t find_ends(std::vector<WallSeen>& walls, const std::vector<Sample>& samples,
                      const RemovalRecord& record);

} // namespace snagmap
