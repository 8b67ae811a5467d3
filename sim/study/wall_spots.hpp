// What a preview says of one straight wall of a job that was planned round it.
#pragma once

#include "sim/judge/found.hpp"

namespace snagmap {

/// Worst spot on the two faces of a wall that runs along y between two corners (plan, mm), over passes, sides
/// and places, ends included; none: the watch found no web there.
const Spot* worst_of_wall(const std::vector<Spot>& spots, Vec2 low_mm, Vec2 high_mm);

} // namespace snagmap
