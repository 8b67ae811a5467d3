// The report: one HTML file that settles a set-up review, offline, on screen and on paper.
#pragma once

#include "sim/preview/preview.hpp"
#include "viz/space/scene.hpp"

#include <string>
#include <vector>

namespace snagmap {

/// `pictures`: names of PNG files in `folder` (as write_pictures returned them; other files are passed over).
/// They are put inside the report, which needs nothing else: no script, style or font from elsewhere. Without
/// pictures the report holds the numbers alone; `missing` says why some are not there. Two runs give the same
/// bytes but for the clock times of verified spots. With `space` (made of the preview's own answer) a browser
/// turns the sheet, and the still picture of it waits for paper and for browsers that cannot.
std::string report_html(const Preview& preview, const std::string& folder,
                        const std::vector<std::string>& pictures, const std::string& missing = "",
                        const SpaceScene* space = nullptr);

} // namespace snagmap
