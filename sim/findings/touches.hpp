// Findings that are no webs: bodies and rapids in foam, cuts below the sheet.
#pragma once

#include "sim/findings/finding.hpp"
#include "sim/judge/judged_job.hpp"

#include <vector>

namespace snagmap {

/// Touches of the record gathered into findings: one for each stretch of moves and kind, deepest place kept.
std::vector<Finding> touch_findings(const RemovalRecord& record, const Path& path, const Motion& motion);
/// Moves whose tip goes below the sheet, into whatever it lies on.
std::vector<Finding> table_findings(const Scene& scene, const Path& path, const Motion& motion);

} // namespace snagmap
