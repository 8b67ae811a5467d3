#include "viz/draw/off_screen.hpp"

#include <cerrno>
#include <csignal>
#include <cstdlib>
#include <cstring>
#include <string>

#include <fcntl.h>
#include <poll.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

namespace snagmap {
namespace {

constexpr int kStartLimit_ms = 15000; // a loaded two-core machine needs up to 2 s

pid_t screen_pid = 0;

void end_screen() {
  if (screen_pid <= 0)
    return;
  kill(screen_pid, SIGTERM);
  for (int i = 0; i < 100; ++i) {
    if (waitpid(screen_pid, nullptr, WNOHANG) != 0) {
      screen_pid = 0;
      return;
    }
    usleep(10000);
  }
  kill(screen_pid, SIGKILL);
  waitpid(screen_pid, nullptr, 0);
  screen_pid = 0;
}

Fault missing(const std::string& what) {
  return Fault("no pictures: " + what,
               "install the packages xvfb and libgl1-mesa-dri; the data files are written all the same");
}

std::string find_program(const char* name) {
  const char* path = std::getenv("PATH");
  std::string rest = path ? path : "/usr/bin:/bin";
  while (!rest.empty()) {
    const std::size_t colon = rest.find(':');
    const std::string file = rest.substr(0, colon) + "/" + name;
    if (access(file.c_str(), X_OK) == 0)
      return file;
    rest = colon == std::string::npos ? "" : rest.substr(colon + 1);
  }
  return "";
}

/// The display number Xvfb writes once it listens; empty when it ended or stayed silent.
std::string read_display(int fd) {
  std::string text;
  pollfd waited{fd, POLLIN, 0};
  while (text.find('\n') == std::string::npos) {
    const int ready = poll(&waited, 1, kStartLimit_ms);
    if (ready < 0 && errno == EINTR)
      continue;
    char bytes[16];
    const ssize_t n = ready > 0 ? read(fd, bytes, sizeof bytes) : 0;
    if (n <= 0)
      return "";
    text.append(bytes, static_cast<std::size_t>(n));
  }
  return text.substr(0, text.find('\n'));
}

std::optional<Fault> start_screen() {
  const std::string program = find_program("Xvfb");
  if (program.empty())
    return missing("the program Xvfb was not found");
  int ends[2];
  if (pipe(ends) != 0)
    return missing(std::string("no pipe: ") + std::strerror(errno));
  const std::string fd = std::to_string(ends[1]);
  // Built before the fork: the child may only call what is safe after a fork in a threaded process.
  const char* words[] = {program.c_str(), "-displayfd", fd.c_str(), "-screen",  "0",
                         "64x64x24",      "-nolisten",  "tcp",      "-noreset", nullptr};
  const pid_t parent = getpid();
  const pid_t child = fork();
  if (child == 0) {
    prctl(PR_SET_PDEATHSIG, SIGTERM);
    if (getppid() != parent)
      _exit(1);
    setpgid(0, 0); // Ctrl-C in the terminal ends the program, which then ends its screen
    close(ends[0]);
    const int nowhere = open("/dev/null", O_RDWR);
    if (nowhere >= 0) {
      dup2(nowhere, 0);
      dup2(nowhere, 1);
      dup2(nowhere, 2);
    }
    execv(program.c_str(), const_cast<char* const*>(words));
    _exit(127);
  }
  close(ends[1]);
  if (child < 0) {
    close(ends[0]);
    return missing(std::string("Xvfb could not be started: ") + std::strerror(errno));
  }
  screen_pid = child;
  const std::string number = read_display(ends[0]);
  close(ends[0]);
  if (number.empty()) {
    end_screen();
    return missing("Xvfb ended or did not answer");
  }
  setenv("DISPLAY", (":" + number).c_str(), 1);
  std::atexit(end_screen);
  return std::nullopt;
}

} // namespace

std::optional<Fault> ensure_off_screen() {
  static const std::optional<Fault> answer = start_screen();
  return answer;
}

void end_off_screen() {
  end_screen();
}

int off_screen_pid() {
  return screen_pid;
}

} // namespace snagmap
