// The run's numbers as a part of result.json.
#pragma once

#include "sim/checks/run_numbers.hpp"

#include <nlohmann/json.hpp>

namespace snagmap {

/// Where the time goes, the feeds the machine reaches, chips too thin to cut, foam removed. mm, s, mm/min.
nlohmann::ordered_json run_json(const RunNumbers& run);

} // namespace snagmap
