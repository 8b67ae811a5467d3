// The preview that a window or a film shows: of a scene, or of a result.
#pragma once

#include "sim/preview/preview.hpp"
#include "viz/terminal/progress.hpp"

#include <string>

namespace snagmap {

/// `place`: a result folder or a scene. The record is cut again in seconds; the checks by finite elements are
/// the result's. Notes go to stderr.
Outcome<Preview> preview_to_show(const std::string& place, ProgressBar& bar);

} // namespace snagmap
