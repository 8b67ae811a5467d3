#include "viz/terminal/tell_progress.hpp"

#include "models/base/plain_text.hpp"
#include "viz/jobs/child.hpp"

#include <algorithm>
#include <cstdlib>
#include <cstring>
#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

namespace snagmap {
namespace {

/// The descriptor, closed for the programs that this one starts; -1: nobody asked.
int listener() {
  const char* word = std::getenv(kProgressVariable);
  if (!word || !*word || std::strlen(word) > 4 || std::strspn(word, "0123456789") != std::strlen(word))
    return -1;
  const int number = std::atoi(word);
  return number > STDERR_FILENO && fcntl(number, F_SETFD, FD_CLOEXEC) == 0 ? number : -1;
}

} // namespace

void tell_progress(const std::string& stage, double share) {
  static const int to = listener();
  if (to < 0)
    return;
  const std::string line = fmt::format("{:.4f} {}\n", std::clamp(share, 0.0, 1.0), plain_text(stage));
  if (write(to, line.data(), line.size()) < 0)
    return; // nobody reads any more
}

} // namespace snagmap
