// All that the terminal's page counts, whole.
#pragma once

#include "sim/preview/preview.hpp"
#include "viz/terminal/style.hpp"

#include <string>
#include <vector>

namespace snagmap {

/// Everything the page counts: all webs, findings, times, stops, advice, notes, assumptions.
std::string full_text(const Preview& preview, const JobAnswer& answer, const TerminalStyle& style);

/// Webs in the order of the answer, `which` of them or all, in lines of the style's columns, headed; one
/// entry for each row.
std::vector<Lines> web_table(const Preview& preview, const JobAnswer& answer, const std::vector<int>& which,
                             const TerminalStyle& style);
/// Findings that are no webs, those that stop the job first.
std::string finding_list(const Preview& preview, const TerminalStyle& style);
/// The plan of stops, its caution first; empty when nothing needs one.
std::string stop_list(const Preview& preview, const TerminalStyle& style);

} // namespace snagmap
