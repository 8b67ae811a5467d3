// A program that cuts nothing: not an answer of "nothing found", but an input that cannot be meant.
#pragma once

#include "models/base/fault.hpp"
#include "sim/path/path.hpp"
#include "sim/record/record.hpp"
#include "sim/scene/scene.hpp"

#include <optional>

namespace snagmap {

/// The fault of a program without a feed move, by which no sheet could be settled either.
std::optional<Fault> no_feed_move(const Scene& scene, const Path& path);

/// The fault of a program whose record removes nothing, with the reason: it stays above the sheet, beside it,
/// in the pockets the sheet came with, or takes less than a voxel shows.
std::optional<Fault> cuts_nothing(const Scene& scene, const Path& path, const RemovalRecord& record);

} // namespace snagmap
