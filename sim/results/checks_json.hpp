// What the checks of the whole job found, for result.json.
#pragma once

#include "sim/checks/job_checks.hpp"
#include "sim/results/sentences.hpp"

#include <nlohmann/json.hpp>

namespace snagmap {

/// Stops, risk events, strands, loose pieces, hold-down, pocket fits; lengths mm, times s, forces N. Without
/// `say` there are no sentences.
nlohmann::ordered_json json_of(const JobChecks& checks, const Sentences* say);

} // namespace snagmap
