// Whether a preview fits into memory, said before it is cut.
#pragma once

#include "sim/path/path.hpp"
#include "sim/scene/scene.hpp"

#include <cstddef>
#include <optional>

namespace snagmap {

/// What this process may still take, bytes: of the machine, or of its control group where that is less. 0:
/// not known.
std::size_t free_memory_bytes();

/// The refusal of a preview that would take more than `limit_bytes` at its peak, with the estimate and the
/// voxel size that would fit; empty when it fits. Costs a cut of 250,000 columns. Right within about a third
/// (pictures not counted).
std::optional<Fault> would_not_fit(const Scene& scene, const Path& path, std::size_t limit_bytes);

} // namespace snagmap
