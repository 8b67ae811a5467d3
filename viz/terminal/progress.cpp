#include "viz/terminal/progress.hpp"

#include "models/base/plain_text.hpp"
#include "viz/terminal/stop.hpp"
#include "viz/terminal/tell_progress.hpp"

#include <algorithm>
#include <cstdio>
#include <fmt/format.h>
#include <unistd.h>

namespace snagmap {

ProgressBar::ProgressBar(bool quiet) : shown_(!quiet && isatty(STDERR_FILENO)) {}
ProgressBar::~ProgressBar() {
  clear();
}

bool ProgressBar::operator()(const std::string& stage, double share) {
  const auto now = std::chrono::steady_clock::now();
  const bool due = stage != stage_ || now - last_ > std::chrono::milliseconds(100);
  if (due) {
    tell_progress(stage, share);
    last_ = now, stage_ = stage;
  }
  if (shown_ && due) {
    const int filled = static_cast<int>(30 * std::clamp(share, 0.0, 1.0));
    fmt::print(stderr, "\r\x1b[K{:<10} [{}{}] {:3.0f} %", plain_text(stage),
               std::string(static_cast<std::size_t>(filled), '='),
               std::string(static_cast<std::size_t>(30 - filled), ' '), 100 * std::clamp(share, 0.0, 1.0));
    std::fflush(stderr);
    drawn_ = true;
  }
  return !stop_asked();
}

void ProgressBar::clear() {
  if (drawn_)
    fmt::print(stderr, "\r\x1b[K");
  drawn_ = false;
}

} // namespace snagmap
