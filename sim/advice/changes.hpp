// What a changed job gains and loses among what alarms or decides: webs that snag, findings that stop the
// job, the hold. Webs are told apart by where they stand, as numbers and passes may differ from run to run.
#pragma once

#include "sim/preview/preview.hpp"

#include <map>
#include <string>
#include <vector>

namespace snagmap {

/// A web with a spot of S >= 1, at its worst.
struct SnaggingWeb {
  int id = 0;
  double s = 0, w_mm = 0;
  Vec3 place_mm;                ///< of the worst spot
  std::vector<Vec2> midline_mm; ///< empty when the watch keeps none
  std::vector<Vec2> spots_mm;   ///< all that snag
};
std::vector<SnaggingWeb> webs_that_snag(const Preview& preview); ///< worst first

/// Do the two stand at one place in plan? A spot lies half a web's thickness from its mid-line.
bool same_web(const SnaggingWeb& a, const SnaggingWeb& b);

struct WebChanges {
  std::vector<SnaggingWeb> gone, fresh;                    ///< snag no longer; snag that did not
  std::vector<std::pair<SnaggingWeb, SnaggingWeb>> harder; ///< snag before and after, S by over 5 % higher
  std::size_t before = 0, after = 0;
};
WebChanges web_changes(const std::vector<SnaggingWeb>& before, const std::vector<SnaggingWeb>& after);

/// Findings other than a weak hold that stop the job, counted by kind.
std::map<FindingKind, int> stopping_findings(const Preview& preview);

} // namespace snagmap
