// The ends of a web as they are at one instant.
#pragma once

#include "sim/watch/watch.hpp"
#include "sim/watch/web_walk.hpp"

namespace snagmap {

/// Walks from the wall's middle to both ends in the stock of `t`; returns the looks it took.
std::size_t walk_to_ends(WallSeen& wall, const RemovalRecord& record, Instant t);

/// The web the wall is a part of, walked in the finished sheet.
Walked web_in_sheet(const WallSeen& wall, const RemovalRecord& record);

} // namespace snagmap
