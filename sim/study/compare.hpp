// One job in a dozen numbers, and several side by side, web by web.
#pragma once

#include "sim/preview/job_numbers.hpp"
#include "sim/preview/preview.hpp"

#include <array>
#include <string>
#include <vector>

namespace snagmap {

/// A web in one of the cases, at its worst there.
struct WebInCase {
  bool seen = false; ///< else no spot of it has an S of 0.25 or more, or the program leaves another sheet
  double w_mm = 0, h_mm = 0;
  double gamma = 0, s = 0, s_low = 0, s_high = 0;
  Level level = Level::firm;
  SnagRatio to_first; ///< S over the first case's; only when both were seen
};

/// A web that decides: in one case at least its S, or the upper end of its band, reaches 1.
struct ComparedWeb {
  int web = 0;                  ///< its number, the same in all cases (keep_numbers)
  std::vector<WebInCase> cases; ///< in their order
  double worst() const;         ///< the highest S of any case
  bool shared() const;          ///< seen in every case
};

struct ComparedCase {
  std::string name;
  JobNumbers numbers;
  std::string foam, cutter, program;
  int cleared = 0, added = 0; ///< webs that snag in the first case alone, and here alone
  /// S over the first case's on the webs that both saw and that decide: the middle web's, and the least and
  /// greatest of nominal values. None where they share no such web.
  std::size_t webs_shared = 0;
  double over_first = 0, over_first_least = 0, over_first_most = 0;
};

struct Comparison {
  std::vector<ComparedWeb>
      webs; ///< those that decide, worst first; the worst of the first case where none does
  std::vector<ComparedCase> cases;
};

/// Sets the cases side by side. Their webs bear the numbers of the first case's (keep_numbers).
Comparison compare(const std::vector<std::string>& names, const std::vector<const Preview*>& previews);

/// One line for each case (RFC 4180); one line for each web in each case; and both as JSON.
std::string compare_csv(const Comparison& comparison);
std::string compared_webs_csv(const Comparison& comparison);
std::string compare_json(const Comparison& comparison);

} // namespace snagmap
