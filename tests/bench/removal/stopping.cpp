// How soon Ctrl-C ends the program, whatever it is at.
#include "../measure.hpp"
#include "studies.hpp"

#include <csignal>
#include <filesystem>
#include <sys/wait.h>
#include <thread>
#include <unistd.h>

namespace snagmap::bench {
namespace {

namespace fs = std::filesystem;

/// Seconds from SIGINT, sent `after_s` into a preview of the demo, to the end of the process; below 0 when it
/// had ended before.
double stop_s(double after_s, const fs::path& folder) {
  std::fflush(stdout); // or the child prints it again
  const pid_t child = fork();
  if (child == 0) {
    signal(SIGINT, SIG_DFL); // a shell's background job ignores it until the program says otherwise
    std::freopen("/dev/null", "w", stdout);
    std::freopen("/dev/null", "w", stderr);
    execl(SNAGMAP_BINARY, "snagmap", "preview", SNAGMAP_ROOT "/scenes/bicycle-case/scene.toml", "--voxel",
          "0.25 mm", "--out", (folder / "result").c_str(), nullptr);
    _exit(127);
  }
  std::this_thread::sleep_for(std::chrono::duration<double>(after_s));
  const double asked = now_s();
  const bool there = waitpid(child, nullptr, WNOHANG) == 0;
  if (!there)
    return -1;
  kill(child, SIGINT);
  waitpid(child, nullptr, 0);
  return now_s() - asked;
}

} // namespace

void stopping() {
  const fs::path folder = fs::temp_directory_path() / ("snagmap_bench_stop_" + std::to_string(getpid()));
  fs::create_directories(folder);
  double worst = 0;
  std::printf("\nCtrl-C into a preview of the demo at 0.25 mm\n");
  for (double after = 0.25;; after *= 1.5) {
    const double took = stop_s(after, folder);
    if (took < 0)
      break;
    std::printf("  after %6.2f s: ended in %.3f s%s\n", after, took,
                fs::is_empty(folder) ? "" : ", files left");
    worst = std::max(worst, took);
  }
  fs::remove_all(folder);
  goal("ctrl_c_s", worst, 0.5, true);
}

} // namespace snagmap::bench
