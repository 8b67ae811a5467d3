// The tooth's answers as a table for other programs.
#pragma once

#include "sim/tooth/web_tooth.hpp"

#include <string>

namespace snagmap {

/// The number by which people and files name the web of an id (Spot::web), and back; the one place that knows
/// it.
int web_number(const JudgedJob& job, int id);
std::optional<int> web_of_number(const JudgedJob& job, int number);

/// One line an answer, always mm, N, Hz; S beside T.
std::string tooth_csv(const JudgedJob& job, const std::vector<WebTooth>& answers);

} // namespace snagmap
