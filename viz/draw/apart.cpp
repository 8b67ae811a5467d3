#include "viz/draw/apart.hpp"

#include "sim/threads/parallel.hpp"
#include "viz/draw/off_screen.hpp"

#include <algorithm>
#include <cctype>
#include <cerrno>
#include <chrono>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <exception>
#include <fcntl.h>
#include <filesystem>
#include <fmt/format.h>
#include <new>
#include <poll.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

namespace snagmap {
namespace {

constexpr std::chrono::minutes kLongestPicture{5}; // 8000 x 8000 pixels took 40 s on two loaded cores

std::function<void()> end_watch, begin_watch;

Fault missing(const std::string& what) {
  return Fault(
      "no pictures: " + what,
      "the numbers and the data files are written all the same; the packages xvfb and libgl1-mesa-dri draw "
      "pictures without a screen");
}

// Lines from the child: a letter, then a file's name or the parts of a fault.
constexpr char kFile = 'f', kFault = 'x', kDone = 'd', kBetween = '\x1f';

void send(int to, std::string line) {
  std::replace(line.begin(), line.end(), '\n', ' ');
  line += '\n';
  for (std::size_t done = 0; done < line.size();) {
    const ssize_t n = write(to, line.data() + done, line.size() - done);
    if (n < 0 && errno == EINTR)
      continue;
    if (n <= 0)
      _exit(1); // nobody listens
    done += static_cast<std::size_t>(n);
  }
}

[[noreturn]] void be_the_child(const std::function<std::optional<Fault>(const DrawnFile&)>& draw,
                               pid_t parent, int tell, int last_words) {
  prctl(PR_SET_PDEATHSIG, SIGKILL);
  if (getppid() != parent)
    _exit(1);
  signal(SIGINT, SIG_IGN); // the parent answers for both
  signal(SIGHUP, SIG_IGN);
  signal(SIGTERM, SIG_DFL);
  signal(SIGPIPE, SIG_DFL);
  const rlimit no_core{0, 0};
  setrlimit(RLIMIT_CORE, &no_core);
  const int nowhere = open("/dev/null", O_RDWR | O_CLOEXEC);
  dup2(nowhere, STDIN_FILENO);
  dup2(nowhere, STDOUT_FILENO);
  dup2(last_words, STDERR_FILENO);
  // The X library leaves by exit() when the display goes; what else would run then belongs to the parent.
  std::atexit([] { _exit(1); });
  std::optional<Fault> fault;
  try {
    fault = draw([tell](const std::string& file) { send(tell, kFile + file); });
  } catch (const std::bad_alloc&) {
    fault = missing("out of memory");
  } catch (const std::exception& error) {
    fault = missing(error.what());
  }
  if (fault)
    send(tell, kFault + fault->file + kBetween + fault->what + kBetween + fault->way_out);
  else
    send(tell, std::string(1, kDone));
  end_off_screen();
  _exit(0);
}

std::vector<std::string> split(const std::string& text, char at) {
  std::vector<std::string> parts(1);
  for (const char c : text)
    if (c == at)
      parts.emplace_back();
    else
      parts.back() += c;
  return parts;
}

/// Without the codes that colour a terminal and other unprintable bytes.
std::string without_codes(const std::string& line) {
  std::string plain;
  for (std::size_t i = 0; i < line.size(); ++i) {
    const auto c = static_cast<unsigned char>(line[i]);
    if (c == 27 && i + 1 < line.size() && line[i + 1] == '[')
      while (i + 1 < line.size() && !std::isalpha(static_cast<unsigned char>(line[++i]))) {
      }
    else if (c >= 32 && c != 127)
      plain += line[i];
  }
  return plain;
}

std::string how_it_ended(int status, const std::string& said) {
  std::string words = WIFSIGNALED(status) ? fmt::format("the drawing process was ended by signal {} ({})",
                                                        WTERMSIG(status), strsignal(WTERMSIG(status)))
                                          : fmt::format("the drawing process ended early with status {}",
                                                        WEXITSTATUS(status));
  std::string last;
  for (const std::string& line : split(said, '\n'))
    if (const std::string plain = without_codes(line); plain.find_first_not_of(' ') != std::string::npos)
      last = plain.substr(plain.find_first_not_of(' '), 200);
  return last.empty() ? words : words + ": " + last;
}

std::size_t threads_of_this_process() {
  std::size_t count = 0;
  std::error_code error;
  for (std::filesystem::directory_iterator at("/proc/self/task", error), end; !error && at != end;
       at.increment(error))
    ++count;
  return count;
}

} // namespace

void around_forks(std::function<void()> end, std::function<void()> begin_again) {
  end_watch = std::move(end);
  begin_watch = std::move(begin_again);
}

DrawnApart draw_apart(const std::function<std::optional<Fault>(const DrawnFile&)>& draw,
                      const std::function<bool()>& go_on) {
  DrawnApart drawn;
  int tells[2], words[2];
  if (pipe2(tells, O_CLOEXEC) != 0) {
    drawn.fault = missing(std::string("no pipe: ") + std::strerror(errno));
    return drawn;
  }
  if (pipe2(words, O_CLOEXEC) != 0) {
    drawn.fault = missing(std::string("no pipe: ") + std::strerror(errno));
    close(tells[0]), close(tells[1]);
    return drawn;
  }
  std::fflush(nullptr); // what is buffered would come twice
  end_worker_threads();
  if (end_watch)
    end_watch();
  drawn.threads = threads_of_this_process();
  const pid_t parent = getpid(), child = fork();
  if (child == 0)
    be_the_child(draw, parent, tells[1], words[1]);
  const int why = errno;
  if (begin_watch)
    begin_watch();
  close(tells[1]), close(words[1]);
  if (child < 0) {
    close(tells[0]), close(words[0]);
    drawn.fault = missing(std::string("no process to draw in: ") + std::strerror(why));
    return drawn;
  }

  std::string told, said;
  bool whole = false;
  auto last_news = std::chrono::steady_clock::now();
  pollfd ends[2] = {{tells[0], POLLIN, 0}, {words[0], POLLIN, 0}};
  const auto take = [](pollfd& end, std::string& into) {
    char bytes[4096];
    const ssize_t n = end.revents ? read(end.fd, bytes, sizeof bytes) : -1;
    if (n > 0)
      into.append(bytes, static_cast<std::size_t>(n));
    else if (end.revents && (n == 0 || errno != EINTR))
      end.fd = -1; // poll passes over it
  };
  while (ends[0].fd >= 0) {
    if (!go_on()) {
      drawn.stopped = true;
      break;
    }
    if (std::chrono::steady_clock::now() - last_news > kLongestPicture) {
      drawn.fault = missing("nothing was drawn for five minutes");
      break;
    }
    if (poll(ends, 2, 100) <= 0)
      continue;
    take(ends[1], said);
    if (said.size() > 8192)
      said.erase(0, said.size() - 4096); // only the last words count
    take(ends[0], told);
    for (std::size_t end; (end = told.find('\n')) != std::string::npos; told.erase(0, end + 1)) {
      last_news = std::chrono::steady_clock::now();
      const std::string line = told.substr(0, end);
      whole = line[0] != kFile;
      if (line[0] == kFile)
        drawn.files.push_back(line.substr(1));
      else if (const auto parts = split(line.substr(1), kBetween); line[0] == kFault && parts.size() == 3)
        drawn.fault = Fault(parts[1], parts[2], parts[0]);
    }
  }
  if (ends[0].fd >= 0)
    kill(child, SIGKILL);
  int status = 0;
  while (waitpid(child, &status, 0) < 0 && errno == EINTR) {
  }
  if (ends[1].fd >= 0 && ends[0].fd < 0 && poll(&ends[1], 1, 0) > 0)
    take(ends[1], said);
  close(tells[0]), close(words[0]);
  if (!whole && !drawn.fault && !drawn.stopped)
    drawn.fault = missing(how_it_ended(status, said));
  return drawn;
}

} // namespace snagmap
