// One look from the cutter's axis: which wall stands there, and its numbers in the stock of that instant.
#pragma once

#include "sim/watch/watch.hpp"

#include <optional>

namespace snagmap {

constexpr double kSameWall_cos = 0.77; ///< 40 degrees: looks nearer to each other than this see the same wall

/// The web beside the cutter about the way of `direction` (unit), if there is one. One no thicker than
/// `thin_mm` comes without ends and gaps. Adds the looks it took to `rays`. Any thread.
std::optional<WallSeen> wall_toward(const RemovalRecord& record, const CutterCard& cutter,
                                    const Sample& sample, Vec2 direction, const WatchOptions& options,
                                    std::size_t& rays);

} // namespace snagmap
