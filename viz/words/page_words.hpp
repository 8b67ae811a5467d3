// What the page says of jobs, results and cards.
#pragma once

#include "models/cards/cutter.hpp"

#include <string>

namespace snagmap {

/// A stage as the program names it ("cut", "verify"), for people; an unknown one as it stands.
std::string stage_words(const std::string& stage);
/// `state` as viz/jobs names it; `place` in the line, 0 for a job that does not wait.
std::string job_state_words(const std::string& state, int place);
/// Time so far, and what the stage still takes when that is known (0 or more).
std::string job_time_words(double running_s, double stage_left_s);
/// What the result of a command is: "preview" gives "Preview".
std::string result_kind_words(const std::string& command);
std::string own_card_words(const std::string& result);
/// "6.35 mm flat, flutes 22 mm, single, down-cut"
std::string cutter_words(const CutterCard& card);

/// What `serve` prints; `open` when others than this machine may reach it.
std::string serve_words(const std::string& address, const std::string& folder, int at_once, bool open);

} // namespace snagmap
