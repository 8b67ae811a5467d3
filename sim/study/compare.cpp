#include "sim/study/compare.hpp"

#include "models/base/polyline.hpp"
#include "sim/checks/job_checks.hpp"
#include "sim/results/results.hpp"
#include "sim/text/csv.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <algorithm>
#include <cmath>
#include <filesystem>

namespace snagmap {
namespace {

/// The thinnest that is a web and no ridge or crumb: as high as thick, and twice as long.
const WebFound* thinnest(const Preview& preview) {
  const WebFound* web = nullptr;
  for (const WebFound& one : preview.webs)
    if (!one.island && one.w_mm > 0 && one.h_mm >= one.w_mm && one.length_mm >= 2 * one.w_mm &&
        (!web || one.w_mm < web->w_mm))
      web = &one;
  return web;
}

/// Worst spot on the web along a mid-line.
const Spot* worst_on(const Preview& preview, const WebFound& web) {
  const Spot* worst = nullptr;
  for (const Spot& spot : preview.spots)
    if (nearest_on_line(web.midline_mm, xy(spot.place_mm)).distance_mm <= 0.5 * web.w_mm + 1 &&
        (!worst || spot.answer.s > worst->answer.s))
      worst = &spot;
  return worst;
}

const FoamCard& foam_of(const Preview& preview, const Spot& spot) {
  return preview.scene.foam_between(spot.place_mm.z, spot.place_mm.z + spot.question.web.h_mm);
}

} // namespace

Comparison compare(const std::vector<std::string>& names, const std::vector<const Preview*>& previews) {
  Comparison comparison;
  const WebFound* const web = previews.empty() ? nullptr : thinnest(*previews.front());
  const Spot* const first = web ? worst_on(*previews.front(), *web) : nullptr;
  if (first) {
    comparison.web_place_mm = first->place_mm;
    comparison.web_w_mm = web->w_mm;
  }
  for (std::size_t i = 0; i < previews.size(); ++i) {
    const Preview& preview = *previews[i];
    ComparedCase one;
    one.name = names[i];
    one.numbers = job_numbers(preview);
    one.foam = preview.scene.main_foam().name;
    one.cutter = preview.scene.cutters.front().name;
    one.program = std::filesystem::path(preview.scene.program_file).filename().string();
    if (const Spot* spot = first ? worst_on(preview, *web) : nullptr) {
      one.seen = true;
      one.w_mm = spot->question.web.w_mm;
      one.gamma = spot->answer.gamma;
      one.s = spot->answer.s;
      one.s_low = spot->answer.s_low;
      one.s_high = spot->answer.s_high;
      one.to_first = snag_ratio(one.gamma, foam_of(preview, *spot).lambda, first->answer.gamma,
                                foam_of(*previews.front(), *first).lambda);
    }
    comparison.cases.push_back(std::move(one));
  }
  return comparison;
}

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
                              "web_w_mm",
                              "web_s",
                              "web_s_low",
                              "web_s_high",
                              "s_over_first",
                              "s_over_first_low",
                              "s_over_first_high",
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
    for (const double value :
         {one.w_mm, one.s, one.s_low, one.s_high, one.to_first.nominal, one.to_first.low, one.to_first.high})
      cells.push_back(one.seen ? fmt::format("{:.4f}", value) : "");
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

std::string compare_json(const Comparison& comparison) {
  using Json = nlohmann::ordered_json;
  Json cases = Json::array();
  for (const ComparedCase& one : comparison.cases) {
    const JobNumbers& n = one.numbers;
    Json levels;
    for (std::size_t i = 0; i < n.by_level.size(); ++i)
      levels[to_text(static_cast<Level>(i))] = n.by_level[i];
    Json web = nullptr, ratio = nullptr, hold = nullptr;
    if (one.seen) {
      web = {{"w_mm", one.w_mm},
             {"gamma", one.gamma},
             {"s", one.s},
             {"s_low", one.s_low},
             {"s_high", one.s_high}};
      ratio = {{"nominal", one.to_first.nominal}, {"low", one.to_first.low}, {"high", one.to_first.high}};
    }
    if (n.hold_known)
      hold = {{"nominal", n.hold}, {"low", n.hold_low}, {"high", n.hold_high}};
    cases.push_back({{"name", one.name},
                     {"foam", one.foam},
                     {"cutter", one.cutter},
                     {"program", one.program},
                     {"spots_by_level", levels},
                     {"webs_snagging", n.webs_snagging},
                     {"worst_s", n.worst_s},
                     {"narrowest_web", web},
                     {"s_over_first", ratio},
                     {"longest_run_mm", n.longest_run_mm},
                     {"p95_run_mm", n.p95_run_mm},
                     {"hold_factor", hold},
                     {"over_cut_mm", n.over_cut_mm},
                     {"foam_left_mm", n.foam_left_mm},
                     {"time_s", n.time_s}});
  }
  const Json all = {{"schema", kResultSchema},
                    {"snagmap_version", SNAGMAP_VERSION},
                    {"narrowest_web_place_mm",
                     {comparison.web_place_mm.x, comparison.web_place_mm.y, comparison.web_place_mm.z}},
                    {"cases", cases}};
  return all.dump(1, ' ', false, Json::error_handler_t::replace) + "\n";
}

} // namespace snagmap
