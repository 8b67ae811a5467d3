// The tooth's answers as a table for other programs.
#pragma once

#include "sim/tooth/web_tooth.hpp"

#include <string>

namespace snagmap {

/// One line an answer, always mm, N, Hz; S beside T.
std::string tooth_csv(const JudgedJob& job, const std::vector<WebTooth>& answers);

} // namespace snagmap
