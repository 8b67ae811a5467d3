// Campaigns: cases of a comb a second on one and two cores, and what is spent outside the pipeline.
#include "sim/study/sweep_run.hpp"

#include <cstdio>
#include <filesystem>
#include <fmt/format.h>
#include <oneapi/tbb/global_control.h>
#include <string>
#include <unistd.h>

using namespace snagmap;

namespace {

void goal(const char* name, double value, double bound, bool at_least) {
  const bool met = at_least ? value >= bound : value <= bound;
  fmt::print("goal {} {:.3f} {:.3f} {}\n", name, value, bound, met ? "met" : "short");
}

/// Walls of the demo comb's widths: `widths` of them in two foams, two cutters, one pass depth, heights as
/// many as needed.
std::string plan_text(int heights) {
  std::string widths, all;
  for (const double w : {3.,  4.,  5.,  6.,  7.,  8.,  9.,  10., 12., 14., 16., 17., 18.,
                         19., 20., 21., 22., 25., 27., 30., 32., 35., 38., 40., 45.})
    widths += fmt::format("{}\"{} mm\"", widths.empty() ? "" : ", ", w);
  for (int i = 0; i < heights; ++i)
    all += fmt::format("{}\"{} mm\"", all.empty() ? "" : ", ", 12 + 2.5 * i);
  return fmt::format("foams = [\"pu-22\", \"pe-32\"]\ncutters = [\"flat-6.35-long\", "
                     "\"flat-6.35-stub\"]\ndepths = [\"6.35 mm\"]\n"
                     "widths = [{}]\nheights = [{}]\nvoxel = \"1 mm\"\n",
                     widths, all);
}

SweepRun run(const SweepPlan& plan, const std::string& folder, std::size_t threads) {
  std::filesystem::remove_all(folder);
  const tbb::global_control limit(tbb::global_control::max_allowed_parallelism, threads);
  const auto done = run_shard(plan, {1, 1}, folder);
  if (!done)
    fmt::print("{}\n", to_text(done.faults().front()));
  std::filesystem::remove_all(folder);
  return done ? *done : SweepRun{};
}

} // namespace

int main() {
  const std::string folder = fmt::format("/tmp/snagmap_bench_sweep_{}", getpid());
  const auto small = parse_sweep_plan(plan_text(1), "small"),
             large = parse_sweep_plan(plan_text(10), "large");
  if (!small || !large)
    return std::puts("the plans of the benchmark are refused"), 1;
  const SweepRun one = run(*small, folder, 1), two = run(*small, folder, 2),
                 thousand = run(*large, folder, 2);
  if (one.ran != 100 || two.ran != 100 || thousand.ran != 1000)
    return std::puts("not all cases ran"), 1;
  const double per_s_one = static_cast<double>(one.ran) / one.seconds,
               per_s_two = static_cast<double>(two.ran) / two.seconds;
  const double outside = 1 - one.pipeline_s / one.seconds;
  fmt::print("{:.1f} cases/s on one core, {:.1f} on two ({:.2f} times); outside the pipeline {:.2f} % of one "
             "core's time; 1,000 cases {:.1f} s\n",
             per_s_one, per_s_two, per_s_two / per_s_one, 100 * outside, thousand.seconds);
  goal("two_cores_over_one", per_s_two / per_s_one, 1.7, true);
  goal("outside_pipeline_share", outside, 0.05, false);
  goal("thousand_cases_s", thousand.seconds, 300, false);
  return 0;
}
