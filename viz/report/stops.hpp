// The report's list of stops: what the risk timeline says in a table.
#pragma once

#include "viz/report/table.hpp"

namespace snagmap {

/// The plan with its caution, what to do and what to look for; empty without checks or events.
std::string stops_html(const Preview& preview, const ReportLinks& links);

} // namespace snagmap
