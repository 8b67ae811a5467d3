// The report's first page: the set-up sheet that one signs; and the plan whose numbers lead to the webs.
#pragma once

#include "sim/answer/answer.hpp"
#include "viz/report/table.hpp"
#include "viz/space/scene.hpp"

#include <string>

namespace snagmap {

constexpr std::size_t kWebsDecided = 14; ///< on the first page, and in blocks; the others are folded

/// The sheet's pockets from above as an SVG symbol, to be used by every small plan; drawn once.
std::string plan_symbol(const Preview& preview);
/// The plan with the webs that snag, numbered and linked; `only` marks one web alone.
std::string plan_svg(const Preview& preview, const JobAnswer& answer, int only = -1);

/// Verdict, what to do, the set-up, the plan, the webs that need a decision, stops, cautions, a place to
/// sign.
std::string setup_sheet_html(const Preview& preview, const JobAnswer& answer, const ReportLinks& links);
/// One block for each web that snags: close-up, place, numbers, what clears it, the way into `space` (none:
/// null).
std::string web_blocks_html(const Preview& preview, const JobAnswer& answer, const ReportLinks& links,
                            const std::string& picture_folder, const SpaceScene* space);
/// Its numbers as entries of a <dl>: size, S, when, what decides it, what clears it.
std::string web_facts_html(const Preview& preview, const WebRow& row, const ReportLinks& links);
/// All webs, one row each.
std::string web_table_html(const Preview& preview, const JobAnswer& answer, const ReportLinks& links);

/// The picture as a figure that a click enlarges; empty when the file cannot be read. `caption` as HTML.
std::string figure_html(const std::string& folder, const std::string& name, const std::string& alternative,
                        const std::string& caption = "");

} // namespace snagmap
