#include "sim/study/compare.hpp"

#include "sim/checks/job_checks.hpp"

#include <algorithm>
#include <filesystem>
#include <map>

namespace snagmap {
namespace {

const FoamCard& foam_of(const Preview& preview, const Spot& spot) {
  return preview.scene.foam_between(spot.place_mm.z, spot.place_mm.z + spot.question.web.h_mm);
}

/// The worst spot of each web, by its number.
std::map<int, const Spot*> worst_spots(const Preview& preview) {
  std::map<int, const Spot*> worst;
  for (const Spot& spot : preview.spots)
    if (const Spot*& at = worst[spot.web]; !at || spot.s() > at->s())
      at = &spot;
  return worst;
}

/// Numbers of the webs that snag or may in some case; else of the first case's worst.
std::vector<int> deciding(const std::vector<std::map<int, const Spot*>>& worst) {
  std::vector<int> webs;
  for (const auto& one : worst)
    for (const auto& [web, spot] : one)
      if (spot->answer.s_high >= 1)
        webs.push_back(web);
  if (webs.empty() && !worst.empty() && !worst.front().empty())
    webs.push_back(
        std::max_element(worst.front().begin(), worst.front().end(), [](const auto& a, const auto& b) {
          return a.second->s() < b.second->s();
        })->first);
  std::sort(webs.begin(), webs.end());
  webs.erase(std::unique(webs.begin(), webs.end()), webs.end());
  return webs;
}

WebInCase in_case(const Spot& spot) {
  WebInCase one;
  one.seen = true;
  one.w_mm = spot.question.web.w_mm, one.h_mm = spot.question.web.h_mm;
  one.gamma = spot.answer.gamma;
  one.s = spot.s(), one.s_low = spot.answer.s_low, one.s_high = spot.answer.s_high;
  one.level = spot.level();
  return one;
}

ComparedWeb compared(int web, const std::vector<const Preview*>& previews,
                     const std::vector<std::map<int, const Spot*>>& worst) {
  ComparedWeb row;
  row.web = web;
  const auto first = worst.front().find(web);
  for (std::size_t i = 0; i < previews.size(); ++i) {
    const auto here = worst[i].find(web);
    WebInCase one;
    if (here != worst[i].end()) {
      one = in_case(*here->second);
      if (first != worst.front().end())
        one.to_first =
            snag_ratio(one.gamma, foam_of(*previews[i], *here->second).lambda, first->second->answer.gamma,
                       foam_of(*previews.front(), *first->second).lambda);
    }
    row.cases.push_back(one);
  }
  return row;
}

/// What became of the deciding webs in a case.
void sum_up(const std::vector<ComparedWeb>& webs, std::size_t i, ComparedCase& out) {
  std::vector<double> ratios;
  for (const ComparedWeb& web : webs) {
    const WebInCase &first = web.cases.front(), &here = web.cases[i];
    out.cleared += first.s >= 1 && here.s < 1;
    out.added += first.s < 1 && here.s >= 1;
    if (first.seen && here.seen)
      ratios.push_back(here.to_first.nominal);
  }
  out.webs_shared = ratios.size();
  if (ratios.empty())
    return;
  std::sort(ratios.begin(), ratios.end());
  out.over_first_least = ratios.front(), out.over_first_most = ratios.back();
  out.over_first = 0.5 * (ratios[(ratios.size() - 1) / 2] + ratios[ratios.size() / 2]);
}

} // namespace

double ComparedWeb::worst() const {
  double s = 0;
  for (const WebInCase& one : cases)
    s = std::max(s, one.s);
  return s;
}

bool ComparedWeb::shared() const {
  return std::all_of(cases.begin(), cases.end(), [](const WebInCase& one) { return one.seen; });
}

Comparison compare(const std::vector<std::string>& names, const std::vector<const Preview*>& previews) {
  Comparison comparison;
  std::vector<std::map<int, const Spot*>> worst;
  for (const Preview* preview : previews)
    worst.push_back(worst_spots(*preview));
  for (const int web : deciding(worst))
    comparison.webs.push_back(compared(web, previews, worst));
  std::stable_sort(comparison.webs.begin(), comparison.webs.end(),
                   [](const ComparedWeb& a, const ComparedWeb& b) { return a.worst() > b.worst(); });
  for (std::size_t i = 0; i < previews.size(); ++i) {
    const Preview& preview = *previews[i];
    ComparedCase one;
    one.name = names[i];
    one.numbers = job_numbers(preview);
    one.foam = preview.scene.main_foam().name;
    one.cutter = preview.scene.cutters.front().name;
    one.program = std::filesystem::path(preview.scene.program_file).filename().string();
    sum_up(comparison.webs, i, one);
    comparison.cases.push_back(std::move(one));
  }
  return comparison;
}

} // namespace snagmap
