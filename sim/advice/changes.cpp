#include "sim/advice/changes.hpp"

#include "models/base/polyline.hpp"

#include <algorithm>
#include <set>

namespace snagmap {
namespace {

constexpr double kOffMidline_mm = 1; // a spot's place is known to two voxels
constexpr double kHarder = 1.05; // samples fall elsewhere on a rewritten path; S moves by so much with them

bool lies_on(const SnaggingWeb& one, const SnaggingWeb& web) {
  return std::any_of(one.spots_mm.begin(), one.spots_mm.end(), [&](Vec2 spot) {
    return nearest_on_line(web.midline_mm, spot).distance_mm <= 0.5 * web.w_mm + kOffMidline_mm;
  });
}

} // namespace

std::vector<SnaggingWeb> webs_that_snag(const Preview& preview) {
  std::vector<SnaggingWeb> webs;
  std::map<int, std::size_t> index;
  for (const Spot& spot : preview.spots) {
    if (spot.level() < Level::snags)
      continue;
    const auto [at, fresh] = index.emplace(spot.web, webs.size());
    if (fresh) {
      SnaggingWeb web;
      web.id = spot.web;
      web.w_mm = spot.question.web.w_mm;
      for (const WebFound& found : preview.webs)
        if (found.id == spot.web)
          web.midline_mm = found.midline_mm;
      webs.push_back(std::move(web));
    }
    SnaggingWeb& web = webs[at->second];
    web.spots_mm.push_back(xy(spot.place_mm));
    web.w_mm = std::max(web.w_mm, spot.question.web.w_mm);
    if (spot.s() > web.s)
      web.s = spot.s(), web.place_mm = spot.place_mm;
  }
  std::stable_sort(webs.begin(), webs.end(),
                   [](const SnaggingWeb& a, const SnaggingWeb& b) { return a.s > b.s; });
  return webs;
}

bool same_web(const SnaggingWeb& a, const SnaggingWeb& b) {
  if (lies_on(a, b) || lies_on(b, a))
    return true;
  const double near_mm = std::min(a.w_mm, b.w_mm); // the two walls of one web are this far apart
  return std::any_of(a.spots_mm.begin(), a.spots_mm.end(), [&](Vec2 one) {
    return std::any_of(b.spots_mm.begin(), b.spots_mm.end(),
                       [&](Vec2 other) { return norm(one - other) <= near_mm; });
  });
}

WebChanges web_changes(const std::vector<SnaggingWeb>& before, const std::vector<SnaggingWeb>& after) {
  WebChanges changes;
  changes.before = before.size(), changes.after = after.size();
  for (const SnaggingWeb& was : before)
    if (std::none_of(after.begin(), after.end(), [&](const SnaggingWeb& now) { return same_web(was, now); }))
      changes.gone.push_back(was);
  for (const SnaggingWeb& now : after) {
    const SnaggingWeb* worst = nullptr; // of those that stood there
    for (const SnaggingWeb& was : before)
      if (same_web(was, now) && (!worst || was.s > worst->s))
        worst = &was;
    if (!worst)
      changes.fresh.push_back(now);
    else if (now.s > kHarder * worst->s)
      changes.harder.push_back({*worst, now});
  }
  return changes;
}

std::map<FindingKind, int> stopping_findings(const Preview& preview) {
  std::map<FindingKind, int> kinds;
  for (const Finding& finding : preview.findings)
    if (finding.stops_job && finding.kind() != FindingKind::weak_hold)
      ++kinds[finding.kind()];
  return kinds;
}

} // namespace snagmap
