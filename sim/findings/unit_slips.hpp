// Numbers that look like another unit: a dwell of minutes, a sheet of metres.
#pragma once

#include "sim/findings/finding.hpp"
#include "sim/motion/motion.hpp"
#include "sim/scene/scene.hpp"

#include <vector>

namespace snagmap {

constexpr double kLongDwell_s = 60, kLargeSheet_mm = 2000;

/// One finding for the dwells over a minute, one for a sheet (or, where its size is not given, a program)
/// over two metres long; each names the likely cause.
std::vector<Finding> unit_slips(const Scene& scene, const Path& path, const Motion& motion);

} // namespace snagmap
