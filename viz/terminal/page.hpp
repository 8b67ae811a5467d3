// The page of a preview: the answer on at most 25 lines of 80 columns.
#pragma once

#include "sim/preview/preview.hpp"
#include "viz/terminal/style.hpp"
#include "viz/words/answer_words.hpp"

#include <cstddef>
#include <string>

namespace snagmap {

constexpr std::size_t kMostForVolume = 200'000; ///< moves: beyond it the distances of record.vdb take minutes
constexpr std::size_t kPageLines = 25;          ///< most that a preview prints, its last lines included

/// Verdict and what clears the webs, the webs that decide, what else stops the job, what to check by hand.
/// With `last_lines` at most kPageLines lines at 80 columns or more: what does not fit is counted.
std::string terminal_page(const Preview& preview, const JobAnswer& answer, const Alarm& alarm,
                          const TerminalStyle& style);
/// What stands after the result's place: the caution and the verdict once more.
std::string last_lines(const Preview& preview, const JobAnswer& answer, const Alarm& alarm,
                       const TerminalStyle& style);

} // namespace snagmap
