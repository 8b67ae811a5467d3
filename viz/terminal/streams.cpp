#include "viz/terminal/streams.hpp"

#include "viz/terminal/status.hpp"

#include <cerrno>
#include <csignal>
#include <cstdio>
#include <cstring>
#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

namespace snagmap {
namespace {

int first_failure = 0; // of stdout, as errno

/// Takes every byte, so that no caller is thrown out of its work.
ssize_t write_or_pass(int to, const char* bytes, std::size_t count, int* failure) {
  for (std::size_t done = 0; done < count && (!failure || *failure == 0);) {
    const ssize_t n = write(to, bytes + done, count - done);
    if (n < 0 && errno == EINTR)
      continue;
    if (n <= 0) {
      if (failure)
        *failure = n < 0 ? errno : EIO;
      break;
    }
    done += static_cast<std::size_t>(n);
  }
  return static_cast<ssize_t>(count);
}

ssize_t to_stdout(void*, const char* bytes, std::size_t count) {
  return write_or_pass(STDOUT_FILENO, bytes, count, &first_failure);
}
ssize_t to_stderr(void*, const char* bytes, std::size_t count) {
  return write_or_pass(STDERR_FILENO, bytes, count, nullptr);
}

} // namespace

void guard_streams() {
  for (const int number : {STDIN_FILENO, STDOUT_FILENO, STDERR_FILENO})
    if (fcntl(number, F_GETFD) < 0 && errno == EBADF)
      // The lowest free number is this one. Opened the wrong way, a closed stdout still fails when written.
      if (open("/dev/null", number == STDERR_FILENO ? O_WRONLY : O_RDONLY) < 0)
        return;
  signal(SIGPIPE, SIG_IGN);
  signal(SIGXFSZ, SIG_IGN); // a file past its limit is a write that fails, with its cause
  cookie_io_functions_t out = {}, err = {};
  out.write = to_stdout, err.write = to_stderr;
  if (std::FILE* guarded = fopencookie(nullptr, "w", out)) {
    std::setvbuf(guarded, nullptr, isatty(STDOUT_FILENO) ? _IOLBF : _IOFBF, BUFSIZ);
    stdout = guarded;
  }
  if (std::FILE* guarded = fopencookie(nullptr, "w", err)) {
    std::setvbuf(guarded, nullptr, _IONBF, 0);
    stderr = guarded;
  }
}

int status_with_streams(int status) {
  std::fflush(stdout);
  if (first_failure == 0 || first_failure == EPIPE || (status != kNothingFound && status != kStopTheJob))
    return status;
  fmt::print(stderr, "snagmap: standard output cannot be written: {}\n", std::strerror(first_failure));
  return kProgramFailed;
}

} // namespace snagmap
