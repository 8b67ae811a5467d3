// One job in a dozen numbers, and several side by side.
#pragma once

#include "sim/preview/preview.hpp"

#include <array>
#include <string>
#include <vector>

namespace snagmap {

/// What a set-up is judged by. Lengths mm.
struct JobNumbers {
  std::array<int, 4> by_level{}; ///< spots, in the order of Level
  int webs_snagging = 0;         ///< webs with a spot of S >= 1
  double worst_s = 0, worst_low = 0, worst_high = 0;
  double lean_mm = 0;    ///< largest lean of a sample with S under 1
  double chip_mm = 0;    ///< mean real chip load of the samples in foam
  double time_s = 0;     ///< real program time
  bool runs_held = true; ///< false: the voxel is too coarse for the runs, and what follows of them is 0
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

struct ComparedCase {
  std::string name;
  JobNumbers numbers;
  bool seen = false; ///< the first case's narrowest web was seen here; else its S lies under 0.25
  double w_mm = 0, gamma = 0, s = 0, s_low = 0, s_high = 0; ///< of that web, at its worst
  SnagRatio to_first; ///< S over the first case's; only when both were seen
  std::string foam, cutter, program;
};

struct Comparison {
  Vec3 web_place_mm;   ///< where the narrowest web of the first case stands
  double web_w_mm = 0; ///< 0: the first case has no web
  std::vector<ComparedCase> cases;
};

/// Sets the cases side by side. The web compared is the thinnest of the first case
/// (as high as it is thick and twice as long, so no crumb); in the others it is known by its
/// place.
Comparison compare(const std::vector<std::string>& names, const std::vector<const Preview*>& previews);

/// One line for each case (RFC 4180), and the same as JSON.
std::string compare_csv(const Comparison& comparison);
std::string compare_json(const Comparison& comparison);

} // namespace snagmap
