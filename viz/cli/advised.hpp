// `preview --advise`: the levers tried, told while they are.
#pragma once

#include "sim/advice/advice.hpp"
#include "sim/preview/preview.hpp"
#include "viz/terminal/progress.hpp"
#include "viz/words/shown.hpp"

#include <string>

namespace snagmap {

/// The list as the terminal shows it.
std::string advice_text(const AdviceList& list, Shown shown);

/// Tries the levers on a job without finite elements, then verifies the job as `options` say. A stop tells
/// what is ranked so far.
Outcome<Preview> advised(Preview job, const PreviewOptions& options, ProgressBar& bar, bool quiet);

} // namespace snagmap
