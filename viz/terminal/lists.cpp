#include "viz/terminal/lists.hpp"

#include "sim/checks/job_checks.hpp"
#include "viz/words/advice_words.hpp"
#include "viz/words/clock.hpp"
#include "viz/words/finding_words.hpp"
#include "viz/words/note_words.hpp"
#include "viz/words/run_lines.hpp"
#include "viz/words/spot_words.hpp"
#include "viz/words/stop_words.hpp"
#include "viz/words/web_words.hpp"
#include "viz/words/wrapped.hpp"

#include <algorithm>
#include <fmt/format.h>

namespace snagmap {

std::vector<Lines> web_table(const Preview& preview, const JobAnswer& answer, const std::vector<int>& which,
                             const TerminalStyle& style) {
  const Shown shown{preview.scene.show_inch};
  std::vector<std::vector<std::string>> rows;
  std::vector<bool> alarm{false};
  for (const WebRow& row : answer.rows) {
    if (!which.empty() && std::find(which.begin(), which.end(), row.web) == which.end())
      continue;
    const Spot& spot = preview.spots[row.spot];
    const SnagBand band = band_of(spot);
    rows.push_back(
        {std::to_string(row.web), short_words(row.place, shown), shown.number(spot.question.web.w_mm, 1),
         row.least_w_mm > 0 ? shown.number(row.least_w_mm, 1) : "none",
         shown.number(spot.question.web.h_mm, 1),
         band.low > 100
             ? snag_text(band.s)
             : fmt::format("{} ({}-{})", snag_text(band.s), snag_text(band.low), snag_text(band.high)),
         std::to_string(spot.program_line)});
    alarm.push_back(row.snags);
  }
  std::vector<Lines> table = fitted({{"web", true, false},
                                     {"where", false, true},
                                     {"thick", true, false},
                                     {"needs", true, false},
                                     {"high", true, false},
                                     {"S (range)", false, false},
                                     {"line", true, false}},
                                    rows, style.columns);
  for (std::size_t n = 0; n < table.size(); ++n)
    for (std::string& line : table[n])
      line = n == 0 ? bold_text(line, style) : alarm[n] ? alarm_text(line, style) : line;
  return table;
}

std::string finding_list(const Preview& preview, const TerminalStyle& style) {
  Lines lines;
  for (const bool stops : {true, false})
    for (const Finding& finding : preview.findings)
      if (finding.stops_job == stops) {
        const Lines said = wrapped_plain((stops ? "stop: " : "note: ") + moment_words(finding) + ": " +
                                             words_of(finding.what, Shown{preview.scene.show_inch}),
                                         style, "      ");
        add(lines, stops ? alarm_lines(said, style) : said);
      }
  return joined(lines);
}

std::string stop_list(const Preview& preview, const TerminalStyle& style) {
  if (!preview.checks)
    return "";
  const RiskTimeline& timeline = preview.checks->timeline;
  const Shown in{preview.scene.show_inch};
  const std::string summary = stops_summary(timeline, in);
  if (summary.empty())
    return "";
  Lines lines{""};
  const auto say = [&](const std::string& text, const char* indent = "") {
    add(lines, wrapped_plain(text, style, indent));
  };
  say("Where to stop and look: " + summary + ".");
  if (!timeline.stops.empty()) {
    say(stop_caution());
    std::string steps = "At each, in this order:";
    std::size_t n = 0;
    for (const std::string& step : stop_steps(timeline, in))
      steps += fmt::format("{} {}) {}", n == 0 ? "" : ";", n + 1, step), ++n;
    say(steps + ".");
  }
  std::size_t n = 0;
  for (const RiskStop& stop : timeline.stops)
    say(fmt::format("stop {}, {}: {}. Look for: {}", ++n, clock_text(stop.time_s), stop_place(stop, in),
                    what_to_look_for(timeline, stop.events, in)),
        "  ");
  if (!timeline.at_end.empty())
    say("at the end: look for: " + what_to_look_for(timeline, timeline.at_end, in), "  ");
  return joined(lines);
}

std::string full_text(const Preview& preview, const JobAnswer& answer, const TerminalStyle& style) {
  const Shown shown{preview.scene.show_inch};
  Lines lines;
  if (!answer.rows.empty()) {
    lines.insert(lines.end(), {"", "All webs, worst first:"});
    for (const Lines& row : web_table(preview, answer, {}, style))
      add(lines, row);
  }
  std::string text = joined(lines);
  if (!preview.findings.empty())
    text += "\n" + finding_list(preview, style);
  lines.clear();
  for (const auto& [name, said] : run_lines(preview))
    add(lines, wrapped_plain(name + ": " + said, style, "  "));
  text += joined(lines) + stop_list(preview, style);
  lines.clear();
  if (preview.advice)
    for (const AdvicePart& part : advice_parts(*preview.advice, shown)) {
      lines.emplace_back();
      add(lines,
          wrapped_plain(part.title + ", tried in the model (by the formula, before and after):", style));
      for (const std::string& line : part.lines)
        add(lines, wrapped_plain(line, style, "   "));
    }
  if (!preview.notes.empty() || !preview.assumptions.empty())
    lines.emplace_back();
  for (const Note& note : preview.notes)
    add(lines, wrapped_plain("note: " + words_of(note, shown), style, "      "));
  for (const Assumed& one : preview.assumptions)
    add(lines, wrapped_plain("assumed: " + words_of(one, shown), style, "         "));
  return text + joined(lines);
}

} // namespace snagmap
