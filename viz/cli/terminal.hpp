// The terminal as a view: verdict, table of spots, findings, cautions, and a progress bar.
#pragma once

#include "sim/preview/preview.hpp"
#include "viz/words/clock.hpp"
#include "viz/words/finding_words.hpp"

#include <chrono>
#include <cstddef>
#include <string>
#include <vector>

namespace snagmap {

struct TerminalStyle {
  bool colour = false;   ///< escape codes allowed
  std::size_t rows = 20; ///< spots shown; the rest are counted
};

/// What the exit status and the verdict go by.
struct Alarm {
  Level level = Level::snags;
  bool cautious = false; ///< by the upper end of the band instead of the nominal S
};

/// The level the alarm goes by: nominal, or that of the band's upper end.
Level judged_level(const Spot& spot, bool cautious);
bool alarms(const Preview& preview,
            const Alarm& alarm); ///< a spot at or above the level, or a finding that stops the job

/// One line: how many spots alarm, the worst, and where to look first.
std::string verdict(const Preview& preview, const Alarm& alarm);
/// Worst spots first, in the units of the scene; empty text when there are none.
std::string spot_table(const Preview& preview, const TerminalStyle& style);
/// Findings that are no webs, those that stop the job first.
std::string finding_list(const Preview& preview, const TerminalStyle& style);
/// The plan of stops, its caution first; empty when nothing needs one.
std::string stop_list(const Preview& preview);
/// The short cautions at the end of every preview.
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
