#include "viz/words/space_words.hpp"

#include "viz/words/web_words.hpp"

#include <fmt/format.h>

namespace snagmap {

std::string lean_words(bool shape_only, double factor) {
  if (shape_only)
    return "Shape only: past S = 1 the lean grows until something gives, so its size means nothing.";
  if (factor == 1)
    return "Lean drawn at its true size.";
  return fmt::format("Lean drawn {} times as large as computed.", tick_text(factor, 1));
}

std::string web_aloud(const WebRow& row, const Spot& spot, const Shown& shown) {
  return fmt::format("Web {} {}, {}: {} thick, {} high, S {}, program line {}, {} into the program", row.web,
                     to_text(row.level), words_of(row.place, shown), shown.length(spot.question.web.w_mm, 1),
                     shown.length(spot.question.web.h_mm, 1),
                     band_text(spot.answer.s, spot.answer.s_low, spot.answer.s_high), spot.program_line,
                     time_text(spot.time_s));
}

std::string space_keys() {
  return "Drag or arrow keys turn, two fingers or + and - zoom, Shift moves, Home shows all, Escape goes "
         "back "
         "to the sheet. The wheel zooms once the view was clicked.";
}

std::string space_sheet_words() {
  return "The finished sheet. Choose a web by its number, here or in the list, to see it at its moment.";
}

std::string space_web_words() {
  return "The foam round the web as it stands at that moment; what would hide the cutter is left out. Dark "
         "lines: the web before it leans.";
}

std::string space_left_out(std::size_t shown, std::size_t left) {
  return fmt::format("Only the {} shown close up, to keep this file small; {} more {}.",
                     shown == 1 ? "worst web is" : fmt::format("{} worst webs are", shown), left,
                     left == 1 ? "snags" : "snag");
}

} // namespace snagmap
