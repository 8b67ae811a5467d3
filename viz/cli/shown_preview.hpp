// The preview that a window or a film shows: of a result, a scene or a program.
#pragma once

#include "sim/preview/preview.hpp"
#include "sim/results/results.hpp"
#include "viz/terminal/progress.hpp"

#include <optional>
#include <string>
#include <vector>

namespace snagmap {

/// What is to be shown, read and checked before the work.
struct ShownJob {
  std::string place;
  Scene scene;
  std::optional<Result> result; ///< when the place is a result folder
};

/// `place`: a result folder, a scene, or a program with its foam and cutters (empty where a scene has them).
Outcome<ShownJob> shown_job(const std::string& place, const std::string& foam = "",
                            const std::vector<std::string>& cutters = {});

/// The record is cut again in seconds; the checks by finite elements are the result's. Notes go to stderr.
Outcome<Preview> preview_to_show(const ShownJob& job, ProgressBar& bar);

} // namespace snagmap
