// The plan of stops in words: the same for terminal, report, files and programs.
#pragma once

#include "sim/preview/preview.hpp"
#include "viz/words/shown.hpp"

#include <string>
#include <vector>

namespace snagmap {

std::string words_of(const Risk& risk, const Shown& shown);
/// One line about the plan; empty without events.
std::string stops_summary(const RiskTimeline& timeline, const Shown& shown);
/// Where the cutter is.
std::string stop_place(const RiskStop& stop, const Shown& shown);
/// What to look for, one clause for each kind of event.
std::string what_to_look_for(const RiskTimeline& timeline, const std::vector<std::size_t>& events,
                             const Shown& shown);
/// What to do at a stop, in order.
std::vector<std::string> stop_steps(const RiskTimeline& timeline, const RiskStop& stop, const Shown& shown);
/// The same for whatever stop.
std::vector<std::string> stop_steps(const RiskTimeline& timeline, const Shown& shown);
/// Stands beside every list of stops.
const char* stop_caution();
/// Plan, caution and what to look for, as the head of the program with the stops. The job was checked.
std::vector<std::string> stops_program_head(const Preview& preview);

} // namespace snagmap
