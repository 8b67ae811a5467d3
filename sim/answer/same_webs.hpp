// Webs of two jobs on one sheet that are the same web, by their mid-lines.
#pragma once

#include "sim/preview/preview.hpp"

namespace snagmap {

/// Gives every web of `after` the number of the web of `before` along whose mid-line it runs, in its spots,
/// samples and checks of walls too; those that were not there get numbers past the largest of both.
void keep_numbers(const Preview& before, Preview& after);

} // namespace snagmap
