// The report's list of stops: what the risk timeline says in a table.
#pragma once

#include "viz/report/table.hpp"

namespace snagmap {

/// Where a stop in the program would come before something worth a look; empty without checks or stops.
std::string stops_html(const Preview& preview, const ReportLinks& links);

} // namespace snagmap
