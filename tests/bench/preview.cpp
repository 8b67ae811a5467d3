// The main job on the tool case at 0.5 mm: the real program, its stages, its peak memory.
#include "sim/preview/preview.hpp"
#include "sim/advice/advice.hpp"
#include "sim/study/narrowest.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <string>

#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

using namespace snagmap;

namespace {

struct Run {
  double seconds = 0, peak_MB = 0;
  int status = -1;
};

/// Runs the program itself, so that start-up, pictures and files count.
Run run_program(const std::vector<std::string>& words) {
  const auto start = std::chrono::steady_clock::now();
  std::fflush(stdout); // or the child prints it again
  const pid_t child = fork();
  if (child == 0) {
    std::vector<char*> argv;
    for (const std::string& word : words)
      argv.push_back(const_cast<char*>(word.c_str()));
    argv.push_back(nullptr);
    if (!std::freopen("/dev/null", "w", stdout))
      _exit(127);
    execv(argv[0], argv.data());
    _exit(127);
  }
  int status = 0;
  rusage usage{};
  wait4(child, &status, 0, &usage);
  const std::chrono::duration<double> spent = std::chrono::steady_clock::now() - start;
  return {spent.count(), static_cast<double>(usage.ru_maxrss) / 1024,
          WIFEXITED(status) ? WEXITSTATUS(status) : -1};
}

void goal(const char* name, double value, double bound) {
  fmt::print("goal {} {:.3f} {:.3f} {}\n", name, value, bound, value <= bound ? "met" : "short");
}

} // namespace

int main() {
  const std::string scene_file = std::string(SNAGMAP_ROOT) + "/scenes/bicycle-case/scene.toml";
  const Outcome<Scene> scene = read_scene(scene_file);
  if (!scene)
    return std::puts(to_text(scene.faults().front()).c_str()), 1;

  PreviewOptions options;
  options.voxel_mm = 0.5;
  options.verify = SolveChoice::none();
  const Outcome<Preview> found = preview(*scene, options);
  if (!found)
    return std::puts(to_text(found.faults().front()).c_str()), 1;
  double total = 0, watch_s = 0, judge_s = 0, checks_s = 0;
  for (const StageTime& t : found->times) {
    total += t.seconds;
    if (t.stage == "watch")
      watch_s = t.seconds;
    if (t.stage == "judge")
      judge_s = t.seconds;
    if (t.stage == "check the job")
      checks_s = t.seconds;
  }
  fmt::print("pipeline without verification and pictures: {:.2f} s for {} moves\n", total,
             found->path.moves.size());
  for (const StageTime& t : found->times)
    fmt::print("  {:<18} {:8.3f} s {:5.1f} %\n", t.stage, t.seconds, 100 * t.seconds / total);
  fmt::print("  {} samples, {:.0f} ns each; {} looks, {:.0f} ns each; {} eigenproblems, {:.0f} ns each (both "
             "cores)\n",
             found->sample_count, 1e9 * watch_s / found->sample_count, found->rays,
             1e9 * watch_s / found->rays, found->eigenproblems, 1e9 * judge_s / found->eigenproblems);

  NarrowestSpec spec;
  spec.foams = {*find_foam("pu-22"), *find_foam("pu-32"), *find_foam("pe-24"), *find_foam("pe-32")};
  spec.flute_lengths_mm = {6.35, 10, 15, 22, 30, 40};
  spec.depths_mm = {25};
  auto start = std::chrono::steady_clock::now();
  const auto spent = [&start] {
    return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
  };
  const NarrowestTable table = narrowest_table(spec);
  const double narrowest_s = spent();
  fmt::print("narrowest, 4 foams x 6 flute lengths: {:.3f} s, {} curves, {} Gammas\n", narrowest_s,
             table.curves, table.gammas);

  start = std::chrono::steady_clock::now();
  double first_line_s = 0;
  AdviceOptions advising;
  advising.found = [&](const AdviceList&) {
    if (first_line_s == 0)
      first_line_s = spent();
  };
  const AdviceList advice = advise(*found, advising);
  const double advise_s = spent();
  fmt::print("advice: {} levers helped, {} not, {} not answered, {} runs; first after {:.1f} s, all after "
             "{:.1f} s\n",
             advice.ranked.size(), advice.no_help.size(), advice.not_answered.size(), advice.runs,
             first_line_s, advise_s);
  std::fflush(stdout);

  const std::string out = "/tmp/snagmap_bench_preview";
  const Run bare = run_program({SNAGMAP_BINARY, "preview", scene_file, "--out", out, "--verify", "none"});
  const Run verified = run_program({SNAGMAP_BINARY, "preview", scene_file, "--out", out});
  const Run quick = run_program({SNAGMAP_BINARY, "preview", scene_file, "--out", out, "--quick"});
  fmt::print("the program, pictures and all: {:.2f} s, {:.0f} MB, status {}; verified {:.2f} s, {:.0f} MB, "
             "status {}; quick "
             "{:.2f} s, status {}\n",
             bare.seconds, bare.peak_MB, bare.status, verified.seconds, verified.peak_MB, verified.status,
             quick.seconds, quick.status);
  if (bare.status != 3 || verified.status != 3)
    return std::puts("the tool case must end with status 3"), 1;
  goal("watch_and_judge_s", watch_s + judge_s, 5);
  goal("whole_s", bare.seconds, 30);
  goal("peak_MB", std::max(bare.peak_MB, verified.peak_MB), 2048);
  goal("verified_s", verified.seconds, 60);
  goal("narrowest_s", narrowest_s, 20);
  goal("advise_first_line_s", total + first_line_s, 30);
  goal("advise_all_s", total + advise_s, 180);
  goal("checks_over_bare_pipeline", checks_s / (total - checks_s), 0.5);
  return 0;
}
