// Peer: a dense map of float heights with the removed volume of each move, on the record's tiles and threads.
#pragma once

#include "jobs.hpp"

#include <cmath>
#include <vector>

namespace snagmap::bench {

class HeightMap {
public:
  HeightMap(const Job& job, double h)
      : job_(job), h_(h), nx_(static_cast<int>(std::lround((job.sheet.high.x - job.sheet.low.x) / h))),
        ny_(static_cast<int>(std::lround((job.sheet.high.y - job.sheet.low.y) / h))) {}

  /// Cuts the job; volume removed by each move, mm3.
  std::vector<double> cut();

private:
  double stamp(const Move& move, int i0, int j0, int i1, int j1);
  double stamp_line(Vec3 from, Vec3 to, int tool, int i0, int j0, int i1, int j1);

  const Job& job_;
  double h_;
  int nx_, ny_;
  std::vector<float> map_;
};

} // namespace snagmap::bench
