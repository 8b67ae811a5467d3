#include "sim/answer/same_webs.hpp"

#include "models/base/polyline.hpp"

#include <algorithm>
#include <map>
#include <set>
#include <tuple>

namespace snagmap {
namespace {

constexpr double kOff_mm = 1; // a mid-line is walked in steps of half a thickness
constexpr double kMost = 0.5; // of the shorter line

/// The share of a's points that lie on b, by b's half thickness.
double share_on(const WebFound& a, const WebFound& b) {
  if (a.midline_mm.empty())
    return 0;
  const auto on = std::count_if(a.midline_mm.begin(), a.midline_mm.end(), [&](Vec2 p) {
    return nearest_on_line(b.midline_mm, p).distance_mm <= 0.25 * b.w_mm + kOff_mm;
  });
  return static_cast<double>(on) / static_cast<double>(a.midline_mm.size());
}

} // namespace

void keep_numbers(const Preview& before, Preview& after) {
  std::vector<std::tuple<double, double, std::size_t, std::size_t>> pairs; // best first
  int largest = 0;
  for (std::size_t i = 0; i < after.webs.size(); ++i) {
    largest = std::max(largest, after.webs[i].id);
    for (std::size_t k = 0; k < before.webs.size(); ++k) {
      const double on =
          std::max(share_on(after.webs[i], before.webs[k]), share_on(before.webs[k], after.webs[i]));
      if (on > kMost)
        pairs.emplace_back(-on, norm(middle_of(after.webs[i]) - middle_of(before.webs[k])), i, k);
    }
  }
  for (const WebFound& web : before.webs)
    largest = std::max(largest, web.id);
  std::sort(pairs.begin(), pairs.end());
  std::map<int, int> number;
  std::set<std::size_t> taken;
  for (const auto& [on, apart, i, k] : pairs)
    if (!number.count(after.webs[i].id) && taken.insert(k).second)
      number[after.webs[i].id] = before.webs[k].id;
  for (const WebFound& web : after.webs)
    if (!number.count(web.id))
      number[web.id] = ++largest;
  const auto renew = [&number](auto& id) {
    if (const auto at = number.find(id); at != number.end())
      id = at->second;
  };
  const auto renew_findings = [&renew](std::vector<Finding>& findings) {
    for (Finding& finding : findings)
      if (auto* wall = std::get_if<fact::WallError>(&finding.what))
        renew(wall->web);
  };
  for (WebFound& web : after.webs)
    renew(web.id);
  for (Spot& spot : after.spots)
    renew(spot.web);
  for (PathSample& sample : after.samples)
    renew(sample.web);
  renew_findings(after.findings);
  if (after.checks) {
    JobChecks checks = *after.checks;
    for (PocketFit& fit : checks.walls.fits)
      renew(fit.web);
    for (WallError& error : checks.walls.errors)
      renew(error.web);
    if (checks.walls.worst_unknown)
      renew(checks.walls.worst_unknown->web);
    for (RiskEvent& event : checks.timeline.events)
      if (auto* snag = std::get_if<risk::Snag>(&event.what))
        renew(snag->web);
    renew_findings(checks.findings);
    after.checks = std::make_shared<const JobChecks>(std::move(checks));
  }
  after.answer.reset();
}

} // namespace snagmap
