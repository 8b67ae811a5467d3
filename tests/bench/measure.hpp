// Clocks, memory and goals for the benchmarks.
#pragma once

#include "sim/threads/parallel.hpp"

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <fstream>
#include <malloc.h>
#include <string>
#include <vector>

namespace snagmap::bench {

inline double now_s() {
  return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}
inline double median(std::vector<double> v) {
  std::sort(v.begin(), v.end());
  return v[v.size() / 2];
}
template <class Work> double timed(const Work& work) {
  const double start = now_s();
  work();
  return now_s() - start;
}
inline double peak_MB() {
  std::ifstream status("/proc/self/status");
  for (std::string word; status >> word;)
    if (word == "VmHWM:") {
      double kB = 0;
      status >> kB;
      return kB / 1024;
    }
  return 0;
}
inline void forget_peak() {
  malloc_trim(0);
  std::ofstream("/proc/self/clear_refs") << 5;
}
/// Copy bandwidth over arrays far larger than the caches, counting the bytes read and written; best of five.
inline double bandwidth_GB_s() {
  const std::size_t n = std::size_t(1) << 26, part = n / 64;
  std::vector<double> from(n, 1.0), to(n);
  double best_s = 1e300;
  for (int repeat = 0; repeat < 5; ++repeat)
    best_s = std::min(best_s, timed([&] {
                        parallel_each(std::size_t(64), [&](std::size_t k) {
                          std::copy_n(&from[k * part], part, &to[k * part]);
                        });
                      }));
  return 2.0 * sizeof(double) * double(n) / best_s * 1e-9;
}
/// A line that scripts/bench ends with.
inline void goal(const char* name, double value, double bound, bool at_most) {
  const bool met = at_most ? value <= bound : value >= bound;
  std::printf("goal %s %.4g %.4g %s\n", name, value, bound, met ? "met" : "short");
}

} // namespace snagmap::bench
