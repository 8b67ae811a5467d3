// Tiny jobs drawn at random, each in a process of its own that the kernel ends after ten seconds of processor
// time.
#include "tests/bench/right/parts.hpp"

#include "tests/fuzz/preview_check.hpp"
#include "tests/fuzz/tiny_program.hpp"

#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cstdlib>

namespace snagmap::bench {
namespace {

constexpr int kJobs = 3000;
constexpr rlim_t kMost_s = 10;

enum class End { holds, broken, hangs };

/// Runs one job; `seconds` is its processor time.
End try_job(const std::string& job, double& seconds) {
  std::fflush(stdout);
  const pid_t child = fork();
  if (child == 0) {
    const rlimit limit{kMost_s, kMost_s + 1};
    setrlimit(RLIMIT_CPU, &limit);
    const rlimit no_core{0, 0};
    setrlimit(RLIMIT_CORE, &no_core);
    const std::string broken = broken_preview(job);
    if (!broken.empty())
      std::printf("%s\n", broken.c_str()), std::fflush(stdout);
    _exit(broken.empty() ? 0 : 1);
  }
  int status = 0;
  rusage used{};
  if (child < 0 || wait4(child, &status, 0, &used) != child)
    return End::broken;
  seconds = static_cast<double>(used.ru_utime.tv_sec + used.ru_stime.tv_sec) +
            1e-6 * static_cast<double>(used.ru_utime.tv_usec + used.ru_stime.tv_usec);
  if (WIFSIGNALED(status))
    return WTERMSIG(status) == SIGXCPU || WTERMSIG(status) == SIGKILL ? End::hangs : End::broken;
  return WEXITSTATUS(status) == 0 ? End::holds : End::broken;
}

} // namespace

std::vector<RightGoal> hangs() {
  int hung = 0, broken = 0;
  double worst_s = 0, sum_s = 0;
  for (int seed = 1; seed <= kJobs; ++seed) {
    TinyRandom random(static_cast<unsigned>(seed));
    const std::string job = random_job(random);
    double seconds = 0;
    const End end = try_job(job, seconds);
    worst_s = std::max(worst_s, seconds);
    sum_s += seconds;
    hung += end == End::hangs;
    broken += end == End::broken;
    if (end != End::holds)
      std::printf("seed %d %s:\n%s\n", seed, end == End::hangs ? "hangs" : "breaks", job.c_str());
  }
  std::printf("%d tiny jobs: %.3f s of processor time on average, %.2f s at most\n", kJobs, sum_s / kJobs,
              worst_s);
  return {{"preview_fuzz_hangs", static_cast<double>(hung), 0},
          {"preview_fuzz_broken", static_cast<double>(broken), 0}};
}

} // namespace snagmap::bench
