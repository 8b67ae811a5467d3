// How time and memory grow.
#include "../measure.hpp"
#include "sim/record/data.hpp"
#include "studies.hpp"

#include <cmath>

namespace snagmap::bench {

void growth(double voxel) {
  std::printf("\nGrowth over four doublings at %.2f mm (moves and removed volume double together)\n", voxel);
  std::vector<double> x, y;
  for (int k = 0; k < 5; ++k) {
    // The same layers over twice the area each time.
    const Job job = pocket(static_cast<std::size_t>(25000) << k, 180.0 * std::sqrt(1 << k) + 20,
                           120.0 * std::sqrt(1 << k) + 20, 50);
    std::vector<double> times;
    for (int n = 0; n < 3; ++n)
      times.push_back(timed([&] { cut(job, voxel); }));
    std::printf("  %7zu moves %.3f s\n", job.path.moves.size(), median(times));
    x.push_back(std::log(static_cast<double>(job.path.moves.size())));
    y.push_back(std::log(median(times)));
  }
  double mx = 0, my = 0, sxy = 0, sxx = 0;
  for (std::size_t n = 0; n < x.size(); ++n)
    mx += x[n] / 5, my += y[n] / 5;
  for (std::size_t n = 0; n < x.size(); ++n)
    sxy += (x[n] - mx) * (y[n] - my), sxx += (x[n] - mx) * (x[n] - mx);
  std::printf("  time ~ moves^%.2f\n", sxy / sxx);
  goal("growth_exponent", sxy / sxx, 1.1, true);
}

void billion() {
  const Job job = pocket(500000, 600, 400, 75);
  forget_peak();
  const double before = peak_MB();
  double seconds = 0, bytes = 0, voxels = 0;
  {
    const double start = now_s();
    const RemovalRecord record = cut(job, 0.25);
    seconds = now_s() - start;
    bytes = static_cast<double>(record.bytes());
    for (double v : record.data().counted_mm3)
      voxels += v / 0.015625;
  }
  std::printf("\n600 x 400 x 75 mm at 0.25 mm (1.15 billion voxels), 500k moves: %.2f s, record %.0f MB, "
              "peak %.0f MB (%.0f MB before), %.0f M voxels removed\n",
              seconds, bytes * 1e-6, peak_MB(), before, voxels * 1e-6);
  goal("billion_voxels_s", seconds, 10, true);
  goal("billion_voxels_peak_MB", peak_MB(), 2048, true);
}

} // namespace snagmap::bench
