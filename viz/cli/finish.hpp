// The end of a command that leaves a folder.
#pragma once

#include "viz/files/output_folder.hpp"

#include <functional>
#include <optional>
#include <string>

namespace snagmap {

/// Puts the folder in its place and says so on stderr, `word` first, with what the user should know. Returns
/// the exit status: kNothingFound, or kProgramFailed with the fault said.
int put_in_place(OutputFolder& folder, const std::string& word = "Results");

/// Draws by a process that may die; why something is missing is said on stderr. Returns kNothingFound, or the
/// exit status at which the command ends: it was stopped, or a file could not be written (no matter of
/// drawing).
int draw_or_say(const std::function<std::optional<Fault>()>& draw);

} // namespace snagmap
