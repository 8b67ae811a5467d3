// Progress for the program that started this one, a line for each step.
#pragma once

#include <string>

namespace snagmap {

/// Writes "0.4200 cut" and a line feed to the descriptor that SNAGMAP_PROGRESS_FD names; nothing without it.
/// Who does not read misses lines, nobody waits.
void tell_progress(const std::string& stage, double share);

} // namespace snagmap
