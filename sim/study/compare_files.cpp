// A comparison as tables and JSON.
#include "sim/results/results.hpp"
#include "sim/study/compare.hpp"
#include "sim/text/csv.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace snagmap {
namespace {

using Json = nlohmann::ordered_json;

/// S, its band and its ratio to the first; null where the web was not seen.
Json web_json(const ComparedWeb& web) {
  Json cases = Json::array();
  for (const WebInCase& one : web.cases) {
    if (!one.seen) {
      cases.push_back(nullptr);
      continue;
    }
    cases.push_back({{"w_mm", one.w_mm},
                     {"h_mm", one.h_mm},
                     {"gamma", one.gamma},
                     {"s", one.s},
                     {"s_low", one.s_low},
                     {"s_high", one.s_high},
                     {"level", to_text(one.level)}});
    if (web.cases.front().seen)
      cases.back()["s_over_first"] = {
          {"nominal", one.to_first.nominal}, {"low", one.to_first.low}, {"high", one.to_first.high}};
  }
  return {{"web", web.web}, {"cases", cases}};
}

} // namespace

std::string compare_csv(const Comparison& comparison) {
  std::string text = csv_row({"case",
                              "foam",
                              "cutter",
                              "program",
                              "firm",
                              "leans",
                              "snags",
                              "tears",
                              "webs_snagging",
                              "worst_s",
                              "webs_cleared",
                              "webs_added",
                              "webs_shared",
                              "s_over_first",
                              "s_over_first_least",
                              "s_over_first_most",
                              "longest_run_mm",
                              "p95_run_mm",
                              "hold",
                              "hold_low",
                              "hold_high",
                              "over_cut_mm",
                              "foam_left_mm",
                              "time_s"});
  for (const ComparedCase& one : comparison.cases) {
    const JobNumbers& n = one.numbers;
    std::vector<std::string> cells{one.name, one.foam, one.cutter, one.program};
    for (const int spots : n.by_level)
      cells.push_back(std::to_string(spots));
    cells.push_back(std::to_string(n.webs_snagging));
    cells.push_back(fmt::format("{:.4f}", n.worst_s));
    for (const std::size_t count :
         {static_cast<std::size_t>(one.cleared), static_cast<std::size_t>(one.added), one.webs_shared})
      cells.push_back(std::to_string(count));
    for (const double value : {one.over_first, one.over_first_least, one.over_first_most})
      cells.push_back(one.webs_shared > 0 ? fmt::format("{:.4f}", value) : "");
    for (const double value : {n.longest_run_mm, n.p95_run_mm})
      cells.push_back(fmt::format("{:.2f}", value));
    for (const double value : {n.hold, n.hold_low, n.hold_high})
      cells.push_back(n.hold_known ? fmt::format("{:.4f}", value) : "");
    for (const double value : {n.over_cut_mm, n.foam_left_mm})
      cells.push_back(fmt::format("{:.3f}", value));
    cells.push_back(fmt::format("{:.2f}", n.time_s));
    text += csv_row(cells);
  }
  return text;
}

std::string compared_webs_csv(const Comparison& comparison) {
  std::string text = csv_row({"web", "case", "w_mm", "h_mm", "level", "s", "s_low", "s_high", "s_over_first",
                              "s_over_first_low", "s_over_first_high"});
  for (const ComparedWeb& web : comparison.webs)
    for (std::size_t i = 0; i < web.cases.size(); ++i) {
      const WebInCase& one = web.cases[i];
      std::vector<std::string> cells{std::to_string(web.web), comparison.cases[i].name};
      for (const double value : {one.w_mm, one.h_mm})
        cells.push_back(one.seen ? fmt::format("{:.3f}", value) : "");
      cells.emplace_back(one.seen ? to_text(one.level) : "");
      for (const double value : {one.s, one.s_low, one.s_high})
        cells.push_back(one.seen ? fmt::format("{:.4f}", value) : "");
      for (const double value : {one.to_first.nominal, one.to_first.low, one.to_first.high})
        cells.push_back(one.seen && web.cases.front().seen ? fmt::format("{:.4f}", value) : "");
      text += csv_row(cells);
    }
  return text;
}

std::string compare_json(const Comparison& comparison) {
  Json cases = Json::array();
  for (const ComparedCase& one : comparison.cases) {
    const JobNumbers& n = one.numbers;
    Json levels;
    for (std::size_t i = 0; i < n.by_level.size(); ++i)
      levels[to_text(static_cast<Level>(i))] = n.by_level[i];
    Json over_first = nullptr, hold = nullptr;
    if (one.webs_shared > 0)
      over_first = {
          {"middle", one.over_first}, {"least", one.over_first_least}, {"most", one.over_first_most}};
    if (n.hold_known)
      hold = {{"nominal", n.hold}, {"low", n.hold_low}, {"high", n.hold_high}};
    cases.push_back({{"name", one.name},
                     {"foam", one.foam},
                     {"cutter", one.cutter},
                     {"program", one.program},
                     {"spots_by_level", levels},
                     {"webs_snagging", n.webs_snagging},
                     {"worst_s", n.worst_s},
                     {"webs_cleared", one.cleared},
                     {"webs_added", one.added},
                     {"webs_shared", one.webs_shared},
                     {"s_over_first", over_first},
                     {"longest_run_mm", n.longest_run_mm},
                     {"p95_run_mm", n.p95_run_mm},
                     {"hold_factor", hold},
                     {"over_cut_mm", n.over_cut_mm},
                     {"foam_left_mm", n.foam_left_mm},
                     {"time_s", n.time_s}});
  }
  Json webs = Json::array();
  for (const ComparedWeb& web : comparison.webs)
    webs.push_back(web_json(web));
  const Json all = {
      {"schema", kResultSchema}, {"snagmap_version", SNAGMAP_VERSION}, {"cases", cases}, {"webs", webs}};
  return all.dump(1, ' ', false, Json::error_handler_t::replace) + "\n";
}

} // namespace snagmap
