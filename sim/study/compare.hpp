// One job in a dozen numbers, and several side by side.
#pragma once

#include "sim/preview/job_numbers.hpp"
#include "sim/preview/preview.hpp"

#include <array>
#include <string>
#include <vector>

namespace snagmap {

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
