#include "sim/preview/job_numbers.hpp"

#include <algorithm>
#include <set>

namespace snagmap {

JobNumbers job_numbers(const Preview& preview) {
  JobNumbers numbers;
  numbers.by_level = spots_by_level(preview.spots);
  std::set<int> webs;
  for (const Spot& spot : preview.spots) {
    if (spot.level() >= Level::snags)
      webs.insert(spot.web);
    if (spot.s() <= numbers.worst_s)
      continue;
    numbers.worst_s = spot.s();
    numbers.worst_low = spot.answer.s_low;
    numbers.worst_high = spot.answer.s_high;
  }
  numbers.webs_snagging = static_cast<int>(webs.size());
  double chips = 0;
  std::size_t cutting = 0; // samples that are no rapid
  for (const PathSample& sample : preview.samples) {
    if (sample.web >= 0 && sample.s < 1)
      numbers.lean_mm = std::max(numbers.lean_mm, static_cast<double>(sample.lean_mm));
    chips += sample.chip_mm;
    cutting += preview.path.moves[sample.move].kind != MoveKind::rapid;
  }
  if (cutting > 0)
    numbers.chip_mm = chips / static_cast<double>(cutting);
  numbers.time_s = preview.motion.total_s();
  for (const Finding& finding : preview.findings) {
    numbers.stops += finding.stops_job && finding.kind() != FindingKind::weak_hold;
    numbers.rubs += finding.kind() == FindingKind::neck_rubs || finding.kind() == FindingKind::shank_rubs;
  }
  if (!preview.checks)
    return numbers;
  const JobChecks& checks = *preview.checks;
  numbers.longest_run_mm = checks.strands.longest_mm;
  numbers.p95_run_mm = checks.strands.p95_mm;
  for (const StrandRun& run : checks.strands.runs)
    numbers.long_runs += run.risk == StrandRisk::high;
  if (const std::optional<Safety>& least = checks.hold.least) {
    numbers.hold_known = true;
    numbers.hold = least->nominal;
    numbers.hold_low = least->low;
    numbers.hold_high = least->high;
  }
  numbers.over_cut_mm = checks.walls.most_over_mm;
  numbers.foam_left_mm = checks.walls.most_left_mm;
  numbers.wall_unknown = static_cast<int>(checks.walls.unknown);
  return numbers;
}

SnagRatio snag_ratio(double gamma_a, const Banded& lambda_a, double gamma_b, const Banded& lambda_b) {
  const double gammas = gamma_a / gamma_b;
  const double at_low = gammas * lambda_a.low / lambda_b.low,
               at_high = gammas * lambda_a.high / lambda_b.high;
  SnagRatio ratio;
  ratio.nominal = gammas * lambda_a.nominal / lambda_b.nominal;
  ratio.low = std::min({ratio.nominal, at_low, at_high});
  ratio.high = std::max({ratio.nominal, at_low, at_high});
  return ratio;
}

} // namespace snagmap
