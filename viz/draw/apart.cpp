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

/// Closes its ends when it goes, in this process; the child leaves by _exit.
struct Pipe {
  int from = -1, to = -1;

  Pipe() = default;
  Pipe(const Pipe&) = delete;
  Pipe& operator=(const Pipe&) = delete;
  ~Pipe() {
    close_to();
    if (from >= 0)
      close(from);
  }
  bool open() {
    int ends[2];
    if (pipe2(ends, O_CLOEXEC) != 0)
      return false;
    from = ends[0], to = ends[1];
    return true;
  }
  void close_to() {
    if (to >= 0)
      close(to);
    to = -1;
  }
};

/// What comes from the child: lines of news, and what libraries write to stderr.
class Listener {
public:
  Listener(int news, int last_words) : ends_{{news, POLLIN, 0}, {last_words, POLLIN, 0}} {}

  bool child_talks() const { return ends_[0].fd >= 0; }
  bool said_how_it_went() const { return whole_; }
  const std::string& last_words() const { return said_; }
  bool silent_too_long() const { return std::chrono::steady_clock::now() - last_news_ > kLongestPicture; }

  /// Waits a tenth of a second at most.
  void listen(DrawnApart& drawn) {
    if (poll(ends_, 2, 100) <= 0)
      return;
    take(ends_[1], said_);
    if (said_.size() > 8192)
      said_.erase(0, said_.size() - 4096); // only the last words count
    take(ends_[0], told_);
    for (std::size_t end; (end = told_.find('\n')) != std::string::npos; told_.erase(0, end + 1))
      understand(told_.substr(0, end), drawn);
  }
  /// What still lies in the pipe of a child that has ended.
  void hear_the_rest() {
    if (ends_[1].fd >= 0 && !child_talks() && poll(&ends_[1], 1, 0) > 0)
      take(ends_[1], said_);
  }

private:
  static void take(pollfd& end, std::string& into) {
    char bytes[4096];
    const ssize_t n = end.revents ? read(end.fd, bytes, sizeof bytes) : -1;
    if (n > 0)
      into.append(bytes, static_cast<std::size_t>(n));
    else if (end.revents && (n == 0 || errno != EINTR))
      end.fd = -1; // poll passes over it
  }
  void understand(const std::string& line, DrawnApart& drawn) {
    last_news_ = std::chrono::steady_clock::now();
    whole_ = line[0] != kFile;
    if (line[0] == kFile)
      drawn.files.push_back(line.substr(1));
    else if (const auto parts = split(line.substr(1), kBetween); line[0] == kFault && parts.size() == 3)
      drawn.fault = Fault(parts[1], parts[2], parts[0]);
  }

  pollfd ends_[2];
  std::string told_, said_;
  bool whole_ = false; ///< the last line was no file: the child came to its end
  std::chrono::steady_clock::time_point last_news_ = std::chrono::steady_clock::now();
};

int status_of(pid_t child) {
  int status = 0;
  while (waitpid(child, &status, 0) < 0 && errno == EINTR) {
  }
  return status;
}

} // namespace

void around_forks(std::function<void()> end, std::function<void()> begin_again) {
  end_watch = std::move(end);
  begin_watch = std::move(begin_again);
}

DrawnApart draw_apart(const std::function<std::optional<Fault>(const DrawnFile&)>& draw,
                      const std::function<bool()>& go_on) {
  DrawnApart drawn;
  Pipe news, last_words;
  if (!news.open() || !last_words.open()) {
    drawn.fault = missing(std::string("no pipe: ") + std::strerror(errno));
    return drawn;
  }

  // One thread at the fork: the child would get no other.
  std::fflush(nullptr); // what is buffered would come twice
  end_worker_threads();
  if (end_watch)
    end_watch();
  drawn.threads = threads_of_this_process();
  const pid_t parent = getpid(), child = fork();
  if (child == 0)
    be_the_child(draw, parent, news.to, last_words.to);
  const int why = errno;
  if (begin_watch)
    begin_watch();
  if (child < 0) {
    drawn.fault = missing(std::string("no process to draw in: ") + std::strerror(why));
    return drawn;
  }
  news.close_to(), last_words.close_to();

  Listener listener(news.from, last_words.from);
  while (listener.child_talks() && !drawn.stopped) {
    if (!go_on()) {
      drawn.stopped = true;
    } else if (listener.silent_too_long()) {
      drawn.fault = missing("nothing was drawn for five minutes");
      break;
    } else {
      listener.listen(drawn);
    }
  }
  if (listener.child_talks())
    kill(child, SIGKILL);
  const int status = status_of(child);
  listener.hear_the_rest();
  if (!listener.said_how_it_went() && !drawn.fault && !drawn.stopped)
    drawn.fault = missing(how_it_ended(status, listener.last_words()));
  return drawn;
}

} // namespace snagmap
