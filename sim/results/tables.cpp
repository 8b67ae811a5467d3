// Spots and webs as tables.
#include "sim/answer/answer.hpp"
#include "sim/results/results.hpp"
#include "sim/text/csv.hpp"

#include <fmt/format.h>

namespace snagmap {
namespace {

std::string number(double value, int digits) {
  return fmt::format("{:.{}f}", value, digits);
}

/// In words where they are made, else by their kinds.
std::string reasons_text(const Spot& spot, const Sentences* say) {
  std::string text;
  for (const Reason& reason : spot.reasons)
    text += (text.empty() ? "" : "; ") +
            (say ? say->words(reason)
                 : std::visit([](const auto& kept) { return std::string(to_text(kept.kind)); }, reason));
  return text;
}

} // namespace

std::string spots_csv(const Preview& preview, const Sentences* say) {
  std::string text =
      csv_row({"id",      "web",          "pass",   "level", "open",        "s",       "s_low", "s_high",
               "s_touch", "lean_mm",      "w_mm",   "h_mm",  "L_mm",        "a_mm",    "x_mm",  "y_mm",
               "z_mm",    "program_line", "time_s", "side",  "feed_mm_min", "chip_mm", "fe_s",  "reasons"});
  for (const Spot& one : preview.spots) {
    const Web& its = one.question.web;
    const SnagAnswer& answer = one.answer;
    text += csv_row({std::to_string(one.id),
                     std::to_string(one.web),
                     std::to_string(one.pass),
                     to_text(one.level()),
                     answer.open ? "yes" : "no",
                     number(answer.s, 4),
                     number(answer.s_low, 4),
                     number(answer.s_high, 4),
                     number(answer.s_touch, 4),
                     answer.has_lean ? number(answer.lean_mm, 4) : "",
                     number(its.w_mm, 3),
                     number(its.h_mm, 3),
                     number(its.length_mm(), 3),
                     number(one.a_mm, 3),
                     number(one.place_mm.x, 3),
                     number(one.place_mm.y, 3),
                     number(one.place_mm.z, 3),
                     std::to_string(one.program_line),
                     number(one.time_s, 3),
                     one.question.climb ? "climb" : "conventional",
                     number(one.feed_mm_min, 1),
                     number(one.chip_mm, 4),
                     one.solved() ? number(one.s(), 4) : "",
                     reasons_text(one, say)});
  }
  return text;
}

std::string webs_csv(const Preview& preview, const Sentences* say) {
  std::string text = csv_row({"web",
                              "level",
                              "may_snag",
                              "s",
                              "s_low",
                              "s_high",
                              "w_mm",
                              "h_mm",
                              "L_mm",
                              "x_mm",
                              "y_mm",
                              "z_mm",
                              "pass",
                              "program_line",
                              "time_s",
                              "least_w_mm",
                              "least_w_whole_band_mm",
                              "cleared_by",
                              "spots",
                              "worst_spot",
                              "place",
                              "reasons"});
  const std::shared_ptr<const JobAnswer> answer = job_answer(preview);
  for (const WebRow& row : answer->rows) {
    const Spot& worst = preview.spots[row.spot];
    const Web& its = worst.question.web;
    std::string cleared;
    for (const std::string& name : row.cleared_by)
      cleared += (cleared.empty() ? "" : "; ") + name;
    text += csv_row({std::to_string(row.web),
                     to_text(row.level),
                     row.may_snag ? "yes" : "no",
                     number(worst.answer.s, 4),
                     number(worst.answer.s_low, 4),
                     number(worst.answer.s_high, 4),
                     number(its.w_mm, 3),
                     number(its.h_mm, 3),
                     number(its.length_mm(), 3),
                     number(worst.place_mm.x, 3),
                     number(worst.place_mm.y, 3),
                     number(worst.place_mm.z, 3),
                     std::to_string(worst.pass),
                     std::to_string(worst.program_line),
                     number(worst.time_s, 3),
                     row.least_w_mm > 0 ? number(row.least_w_mm, 1) : "",
                     row.least_w_high_mm > 0 ? number(row.least_w_high_mm, 3) : "",
                     cleared,
                     std::to_string(row.spots),
                     std::to_string(worst.id),
                     say ? say->words(row.place) : to_text(row.place.kind),
                     reasons_text(worst, say)});
  }
  return text;
}

} // namespace snagmap
