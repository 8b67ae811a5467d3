// What a wall seen is, apart from a web: a short post, or a crumb.
#pragma once

#include "sim/path/path.hpp"
#include "sim/scene/scene.hpp"
#include "sim/watch/watch.hpp"

namespace snagmap {

/// No longer than thick: bends in both directions.
bool is_island(const WallSeen& wall);

/// Shorter than the contact, and a few cells thin or, free all round, no more than two bites: the crest
/// between two paths or a corner's last crumb. It is cut off, not bent.
bool is_fuzz(const WallSeen& wall, double length_mm, const Sample& sample, const Path& path,
             const Scene& scene);

} // namespace snagmap
