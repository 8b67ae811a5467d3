// Foam too thin to judge: what the cutter bites through instead of drawing it in. Said once, with place and
// line.
#pragma once

#include "sim/preview/preview.hpp"
#include "sim/watch/sampling.hpp"
#include "sim/watch/watch.hpp"

#include <optional>
#include <vector>

namespace snagmap {

/// Sightings gathered into places: those within a few millimetres of each other are one, told where it is
/// thinnest.
std::vector<ThinFoam> find_thin_foam(std::vector<WallSeen> seen, const std::vector<Sample>& samples,
                                     const RemovalRecord& record, const Path& path, const Motion& motion);

/// One finding for the whole job; none without thin foam. It never stops a job: it is no statement about S.
std::optional<Finding> thin_foam_finding(const std::vector<ThinFoam>& places, const Path& path);

} // namespace snagmap
