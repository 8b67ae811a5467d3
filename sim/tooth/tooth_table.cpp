#include "sim/tooth/tooth_table.hpp"

#include "sim/text/csv.hpp"

#include <fmt/format.h>

namespace snagmap {

std::string tooth_csv(const JudgedJob& job, const std::vector<WebTooth>& answers) {
  std::string text = csv_row({"web",
                              "program_line",
                              "side",
                              "w_mm",
                              "h_mm",
                              "S",
                              "S_low",
                              "S_high",
                              "T",
                              "T_low",
                              "T_high",
                              "T_static",
                              "T_other_side",
                              "growth",
                              "push",
                              "pull_N",
                              "pull_low_N",
                              "pull_high_N",
                              "width_of_cut_mm",
                              "feed_a_tooth_mm",
                              "spindle_rpm",
                              "tooth_Hz",
                              "f1_Hz",
                              "f1_low_Hz",
                              "f1_high_Hz",
                              "not_answered"});
  const auto number = [](double value) { return fmt::format("{:.5g}", value); };
  for (const WebTooth& a : answers) {
    const Spot& spot = job.spots[a.spot];
    std::vector<std::string> cells{
        std::to_string(a.web),          std::to_string(spot.program_line), a.climb ? "climb" : "conventional",
        number(spot.question.web.w_mm), number(spot.question.web.h_mm),    number(spot.answer.s),
        number(spot.answer.s_low),      number(spot.answer.s_high)};
    const char* growth = a.growth == ToothGrowth::none       ? "none"
                         : a.growth == ToothGrowth::drawn_in ? "drawn in"
                                                             : "swings";
    if (a.answered)
      for (const std::string& cell :
           {number(a.t), number(a.t_low), number(a.t_high), number(a.t_static), number(a.t_turned),
            std::string(growth), std::string(to_text(a.push)), number(a.pull_N), number(a.pull_low_N),
            number(a.pull_high_N), number(a.width_mm), number(a.feed_mm), number(a.spindle_rpm),
            number(a.tooth_Hz), number(a.f1_Hz), number(a.f1_low_Hz), number(a.f1_high_Hz), std::string()})
        cells.push_back(cell);
    else {
      cells.resize(25);
      cells.push_back(a.why_not ? kind_text(*a.why_not) : "");
    }
    text += csv_row(cells);
  }
  return text;
}

} // namespace snagmap
