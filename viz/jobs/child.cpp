#include "viz/jobs/child.hpp"

#include "viz/jobs/served_folder.hpp"

#include <cerrno>
#include <csignal>
#include <cstring>
#include <fcntl.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <unistd.h>

extern char** environ;

namespace snagmap {
namespace {

constexpr int kProgressTo = 3; ///< the child's descriptor

/// Everything the child needs, made before the fork: between fork and exec only what is safe in a process
/// that had threads.
struct Prepared {
  std::vector<std::string> words, variables;
  std::vector<char*> argv, envp;
  std::string folder, out, err;
};

Prepared prepared(const std::vector<std::string>& words, const std::filesystem::path& folder) {
  Prepared p;
  p.words = words;
  p.words.insert(p.words.begin(), "snagmap");
  const std::string own = std::string(kProgressVariable) + "=";
  for (char** one = environ; *one; ++one)
    if (std::strncmp(*one, own.c_str(), own.size()) != 0)
      p.variables.emplace_back(*one);
  p.variables.push_back(own + std::to_string(kProgressTo));
  for (std::string& word : p.words)
    p.argv.push_back(word.data());
  for (std::string& variable : p.variables)
    p.envp.push_back(variable.data());
  p.argv.push_back(nullptr), p.envp.push_back(nullptr);
  p.folder = folder.string(), p.out = (folder / kOutFile).string(), p.err = (folder / kErrFile).string();
  return p;
}

void limit(int what, rlim_t most) {
  const rlimit value{most, most};
  setrlimit(static_cast<__rlimit_resource_t>(what), &value);
}

[[noreturn]] void be_the_child(const Prepared& p, const ChildLimits& limits, pid_t parent, int progress) {
  prctl(PR_SET_PDEATHSIG, SIGTERM); // the program's own answer to it leaves no half result
  if (getppid() != parent)
    _exit(1);
  setpgid(0, 0);
  sigset_t none;
  sigemptyset(&none);
  sigprocmask(SIG_SETMASK, &none, nullptr);
  for (const int number : {SIGINT, SIGTERM, SIGHUP, SIGPIPE})
    signal(number, SIG_DFL);
  const int nowhere = open("/dev/null", O_RDONLY),
            out = open(p.out.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_NOFOLLOW, 0600),
            err = open(p.err.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_NOFOLLOW, 0600);
  const int tell = fcntl(progress, F_DUPFD, 10); // out of the way of what is put in place now
  if (nowhere < 0 || out < 0 || err < 0 || tell < 0 || chdir(p.folder.c_str()) != 0)
    _exit(1);
  dup2(nowhere, STDIN_FILENO), dup2(out, STDOUT_FILENO), dup2(err, STDERR_FILENO), dup2(tell, kProgressTo);
  close_range(kProgressTo + 1, ~0U, 0); // connections of the page above all
  limit(RLIMIT_CORE, 0);
  if (limits.memory_bytes > 0)
    limit(RLIMIT_DATA, limits.memory_bytes);
  execve("/proc/self/exe", p.argv.data(), p.envp.data());
  _exit(1);
}

} // namespace

Outcome<Child> start_child(const std::vector<std::string>& words, const std::filesystem::path& folder,
                           const ChildLimits& limits) {
  const Prepared p = prepared(words, folder);
  int ends[2];
  if (pipe2(ends, O_CLOEXEC | O_NONBLOCK) != 0)
    return Fault(std::string("no pipe to the job: ") + std::strerror(errno), "try again");
  const pid_t parent = getpid(), process = fork();
  if (process == 0)
    be_the_child(p, limits, parent, ends[1]);
  const int why = errno;
  close(ends[1]);
  if (process < 0) {
    close(ends[0]);
    return Fault(std::string("no process for the job: ") + std::strerror(why), "try again");
  }
  setpgid(process, process); // whichever of the two comes first
  return Child{process, ends[0]};
}

} // namespace snagmap
