// The terminal as a view: a page that fits a terminal, all that the page leaves out, and a progress bar.
#pragma once

#include "sim/preview/preview.hpp"
#include "viz/words/answer_words.hpp"
#include "viz/words/clock.hpp"
#include "viz/words/finding_words.hpp"

#include <chrono>
#include <cstddef>
#include <string>
#include <vector>

namespace snagmap {

constexpr std::size_t kMostForVolume = 200'000; ///< moves: beyond it the distances of record.vdb take minutes
constexpr std::size_t kPageLines = 25;          ///< most that a preview prints, its last lines included

struct TerminalStyle {
  bool colour = false;      ///< escape codes allowed
  std::size_t columns = 80; ///< of a line
};

/// Of the stream: COLUMNS, else what the terminal says, else 80; at least 40, at most 120.
std::size_t terminal_columns(int file_descriptor);

/// Verdict and what clears the webs, the webs that decide, what else stops the job, what to check by hand.
/// With `last_lines` at most kPageLines lines at 80 columns or more: what does not fit is counted.
std::string terminal_page(const Preview& preview, const JobAnswer& answer, const Alarm& alarm,
                          const TerminalStyle& style);
/// What stands after the result's place: the caution and the verdict once more.
std::string last_lines(const Preview& preview, const JobAnswer& answer, const Alarm& alarm,
                       const TerminalStyle& style);
/// Everything the page counts: all webs, findings, times, stops, advice, notes, assumptions.
std::string full_text(const Preview& preview, const JobAnswer& answer, const TerminalStyle& style);

/// Webs in the order of the answer, `which` of them or all, in lines of the style's columns, headed; one
/// entry for each row.
std::vector<std::vector<std::string>> web_table(const Preview& preview, const JobAnswer& answer,
                                                const std::vector<int>& which, const TerminalStyle& style);
/// Findings that are no webs, those that stop the job first.
std::string finding_list(const Preview& preview, const TerminalStyle& style);
/// The plan of stops, its caution first; empty when nothing needs one.
std::string stop_list(const Preview& preview, const TerminalStyle& style);
/// The short cautions at the end of every command that leads to a cut.
std::string cautions();

/// Columns aligned by their widest cell, each cell as plain text; `right` marks columns of numbers.
std::string aligned(std::vector<std::vector<std::string>> rows, const std::vector<bool>& right);

/// True when escape codes may be sent to the stream: a terminal, NO_COLOR unset or empty, TERM not dumb.
bool wants_colour(int file_descriptor);

/// A bar on stderr while long work runs; silent when stderr is no terminal.
class ProgressBar {
public:
  explicit ProgressBar(bool quiet);
  ~ProgressBar();
  /// Shows stage and share; false once a stop was asked for.
  bool operator()(const std::string& stage, double share);
  void clear();

private:
  bool shown_, drawn_ = false;
  std::chrono::steady_clock::time_point last_{};
  std::string stage_;
};

/// Runs one stage after the preview: shows it, and keeps its time for timing.json.
template <class Work> auto timed(Preview& found, ProgressBar& bar, const char* stage, Work work) {
  bar(stage, 0);
  const auto start = std::chrono::steady_clock::now();
  auto result = work();
  found.times.push_back(
      {stage, std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count()});
  return result;
}

} // namespace snagmap
