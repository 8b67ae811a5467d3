// One job in a dozen numbers, and the ratio of two snag numbers.
#pragma once

#include "models/cards/banded.hpp"
#include "sim/preview/preview.hpp"

#include <array>

namespace snagmap {

/// What a set-up is judged by. Lengths mm.
struct JobNumbers {
  std::array<int, 4> by_level{}; ///< spots, in the order of Level
  int webs_snagging = 0;         ///< webs with a spot of S >= 1
  double worst_s = 0, worst_low = 0, worst_high = 0;
  double lean_mm = 0; ///< largest lean of a sample with S under 1
  double chip_mm = 0; ///< mean real chip load of the samples in foam
  double time_s = 0;  ///< real program time
  double longest_run_mm = 0, p95_run_mm = 0;
  int long_runs = 0;                            ///< strands of high risk
  bool hold_known = false;                      ///< a hold-down is given and something pulls at it
  double hold = 0, hold_low = 0, hold_high = 0; ///< least factor of safety and its band; snags count where
                                                ///< the nominal S foresees them
  double over_cut_mm = 0, foam_left_mm = 0;     ///< largest wall errors after recovery
  int wall_unknown = 0; ///< samples beside finished walls whose error nobody knows (S >= 1)
  int stops = 0;        ///< findings other than the hold that stop the job
  int rubs = 0;         ///< neck or shank in foam
  bool hold_weak() const { return hold_known && hold_low <= 1; }
};
JobNumbers job_numbers(const Preview& preview);

/// Ratio of two snag numbers with the unknowns they share held equal: Lambda's low end over its low end, high
/// over high. In one foam Lambda drops out and the ratio is Gamma over Gamma: no band is left.
struct SnagRatio {
  double nominal = 0, low = 0, high = 0;
};
SnagRatio snag_ratio(double gamma_a, const Banded& lambda_a, double gamma_b, const Banded& lambda_b);

} // namespace snagmap
