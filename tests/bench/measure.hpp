// Clocks, memory and goals for the benchmarks.
#pragma once

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
/// A line that scripts/bench ends with.
inline void goal(const char* name, double value, double bound, bool at_most) {
  const bool met = at_most ? value <= bound : value >= bound;
  std::printf("goal %s %.4g %.4g %s\n", name, value, bound, met ? "met" : "short");
}

} // namespace snagmap::bench
