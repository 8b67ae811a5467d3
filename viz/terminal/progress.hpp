// A bar while long work runs, and how long each stage took.
#pragma once

#include "sim/preview/preview.hpp"

#include <chrono>
#include <string>

namespace snagmap {

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
