// The report's sheet in space: what a browser turns; where it cannot, the still picture stands.
#pragma once

#include "viz/report/table.hpp"
#include "viz/space/scene.hpp"

#include <string>

namespace snagmap {

/// The part with list, view, numbers and legend, hidden until its script runs.
std::string space_part_html(const Preview& preview, const JobAnswer& answer, const ReportLinks& links,
                            const SpaceScene& scene);
/// What the part needs, for the page's end: data, three.js with its licence, the script.
std::string space_data_html(const Preview& preview, const SpaceScene& scene);

} // namespace snagmap
