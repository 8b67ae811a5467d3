#include "viz/cli/terminal.hpp"
#include "models/base/plain_text.hpp"
#include "models/base/quantity.hpp"
#include "sim/checks/job_checks.hpp"
#include "viz/cli/stop.hpp"
#include "viz/draw/page.hpp"
#include "viz/words/finding_words.hpp"
#include "viz/words/shown.hpp"
#include "viz/words/spot_words.hpp"
#include "viz/words/stop_words.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <fmt/format.h>
#include <unistd.h>

namespace snagmap {
namespace {

std::string bare(double value_mm, bool inch) {
  return fmt::format("{:.{}f}", shown_value(value_mm, Dimension::length, inch), inch ? 3 : 1);
}

std::string with_code(const std::string& text, const char* code, bool colour) {
  return colour ? fmt::format("\x1b[{}m{}\x1b[0m", code, text) : text;
}

constexpr std::size_t kStopsShown = 20;

/// Bold for what alarms, in the one alarm colour of all views (viz/draw/colours.hpp); nothing else is
/// coloured.
constexpr const char* kAlarmCode = "1;38;2;213;50;20";

std::size_t count_alarms(const Preview& preview, const Alarm& alarm) {
  return static_cast<std::size_t>(
      std::count_if(preview.spots.begin(), preview.spots.end(),
                    [&](const Spot& spot) { return judged_level(spot, alarm.cautious) >= alarm.level; }));
}

std::size_t count_stops(const Preview& preview) {
  return static_cast<std::size_t>(std::count_if(preview.findings.begin(), preview.findings.end(),
                                                [](const Finding& finding) { return finding.stops_job; }));
}

const char* plural(std::size_t count) {
  return count == 1 ? "" : "s";
}

} // namespace

Level judged_level(const Spot& spot, bool cautious) {
  if (!cautious)
    return spot.level();
  const double s = spot.answer.s_high;
  if (s >= 1)
    return std::max(spot.level(), spot.answer.root_load_ratio < 1 ? Level::tears : Level::snags);
  return std::max(spot.level(), s >= 0.5 ? Level::leans : Level::firm);
}

bool alarms(const Preview& preview, const Alarm& alarm) {
  return count_alarms(preview, alarm) > 0 || count_stops(preview) > 0;
}

std::string verdict(const Preview& preview, const Alarm& alarm) {
  const std::size_t spots = count_alarms(preview, alarm), stops = count_stops(preview);
  const std::string basis = alarm.cautious ? " by the upper end of the band" : "";
  std::string text;
  if (spots > 0) {
    const Spot& worst = preview.spots.front();
    text = fmt::format("{} spot{} at or above \"{}\"{}; the worst: S {} at program line {}, {} into the job.",
                       spots, plural(spots), to_text(alarm.level), basis, snag_text(worst.s()),
                       worst.program_line, clock_text(worst.time_s));
  } else {
    text = fmt::format("No spot at or above \"{}\"{}: predicted, with the stated uncertainty.",
                       to_text(alarm.level), basis);
  }
  if (stops > 0)
    text += fmt::format(" {} other finding{} should stop the job.", stops, plural(stops));
  const auto open =
      std::count_if(preview.spots.begin(), preview.spots.end(), [](const Spot& s) { return s.open(); });
  if (open > 0)
    text += fmt::format(" {} open (the band crosses 1).", open);
  return text + "\n";
}

std::string spot_table(const Preview& preview, const TerminalStyle& style) {
  if (preview.spots.empty())
    return "";
  const bool inch = preview.scene.show_inch;
  const std::string unit = shown_unit(Dimension::length, inch);
  std::vector<std::vector<std::string>> rows{{"", "x " + unit, "y " + unit, "line", "time", "w " + unit,
                                              "h " + unit, "L " + unit, "S", "band", "level",
                                              "what makes it worse"}};
  const std::size_t shown = std::min(style.rows, preview.spots.size());
  for (std::size_t i = 0; i < shown; ++i) {
    const Spot& spot = preview.spots[i];
    const Web& web = spot.question.web;
    const std::string reasons = reasons_words(spot, Shown{inch});
    rows.push_back({fmt::format("{}", i + 1), bare(spot.place_mm.x, inch), bare(spot.place_mm.y, inch),
                    fmt::format("{}", spot.program_line), clock_text(spot.time_s), bare(web.w_mm, inch),
                    bare(web.h_mm, inch), bare(web.length_mm(), inch), snag_text(spot.s()),
                    band_of(spot).low > 100
                        ? ""
                        : fmt::format("{} to {}{}", snag_text(spot.answer.s_low),
                                      snag_text(spot.answer.s_high), spot.solved() ? " fe" : ""),
                    std::string(to_text(spot.level())) + (spot.open() ? ", open" : ""), reasons});
  }
  std::string table =
      aligned(rows, {true, true, true, true, true, true, true, true, true, false, false, false});
  if (style.colour) {
    std::string coloured;
    std::size_t begin = 0;
    for (std::size_t i = 0; begin < table.size(); ++i) {
      const std::size_t end = table.find('\n', begin);
      const std::string line = table.substr(begin, end - begin);
      if (i == 0)
        coloured += with_code(line, "1", true);
      else
        coloured += with_code(line, kAlarmCode, preview.spots[i - 1].level() >= Level::snags);
      coloured += '\n';
      begin = end + 1;
    }
    table = std::move(coloured);
  }
  if (shown < preview.spots.size())
    table += fmt::format("and {} more, see spots.csv\n", preview.spots.size() - shown);
  return table;
}

std::string finding_list(const Preview& preview, const TerminalStyle& style) {
  std::string text;
  std::size_t shown = 0;
  for (const bool stops : {true, false}) {
    for (const Finding& finding : preview.findings) {
      if (finding.stops_job != stops || shown == style.rows)
        continue;
      ++shown;
      text += with_code(stops ? "stop: " : "note: ", kAlarmCode, style.colour && stops) +
              moment_words(finding) + ": " +
              plain_text(words_of(finding.what, Shown{preview.scene.show_inch})) + "\n";
    }
  }
  if (shown < preview.findings.size())
    text += fmt::format("and {} more findings, see result.json\n", preview.findings.size() - shown);
  return text;
}

std::string stop_list(const Preview& preview) {
  if (!preview.checks)
    return "";
  const RiskTimeline& timeline = preview.checks->timeline;
  const Shown in{preview.scene.show_inch};
  const std::string summary = stops_summary(timeline, in);
  if (summary.empty())
    return "";
  std::string text = "\nWhere to stop and look: " + summary + ".\n";
  if (!timeline.stops.empty()) {
    text += fmt::format("{}\nAt each, in this order:", stop_caution());
    std::size_t n = 0;
    for (const std::string& step : stop_steps(timeline, in))
      text += fmt::format("{} {}) {}", n == 0 ? "" : ";", n + 1, step), ++n;
    text += ".\n";
  }
  std::size_t shown = 0;
  for (const RiskStop& stop : timeline.stops) {
    if (shown == kStopsShown) {
      text += fmt::format("and {} more, see result.json\n", timeline.stops.size() - shown);
      break;
    }
    text += fmt::format("stop {}, {}: {}. Look for: {}\n", ++shown, clock_text(stop.time_s),
                        stop_place(stop, in), what_to_look_for(timeline, stop.events, in));
  }
  if (!timeline.at_end.empty())
    text += "at the end: look for: " + what_to_look_for(timeline, timeline.at_end, in) + "\n";
  return text;
}

std::string cautions() {
  return "These are predictions with stated uncertainty, not a clearance to cut. The machine's manual, local "
         "rules and\n"
         "trained practice come first. Never reach for a strand on a turning cutter; no gloves or loose "
         "sleeves; eye\n"
         "protection and dust extraction; a rubbing cutter can light foam; stay with the first run.\n";
}

std::string aligned(std::vector<std::vector<std::string>> rows, const std::vector<bool>& right) {
  for (auto& row : rows)
    for (std::string& cell : row)
      cell = plain_text(cell);
  std::vector<std::size_t> widths(right.size());
  for (const auto& row : rows)
    for (std::size_t i = 0; i < row.size(); ++i)
      widths[i] = std::max(widths[i], text_width(row[i]));
  std::string text;
  for (const auto& row : rows) {
    std::string line;
    for (std::size_t i = 0; i < row.size(); ++i) {
      const std::string pad(widths[i] - text_width(row[i]), ' ');
      line += (i > 0 ? "  " : "") + (right[i] ? pad + row[i] : row[i] + pad);
    }
    line.erase(line.find_last_not_of(' ') + 1);
    text += line + "\n";
  }
  return text;
}

bool wants_colour(int file_descriptor) {
  const char* no_colour = std::getenv("NO_COLOR");
  const char* term = std::getenv("TERM");
  return isatty(file_descriptor) && !(no_colour && *no_colour) && !(term && std::string(term) == "dumb");
}

ProgressBar::ProgressBar(bool quiet) : shown_(!quiet && isatty(STDERR_FILENO)) {}
ProgressBar::~ProgressBar() {
  clear();
}

bool ProgressBar::operator()(const std::string& stage, double share) {
  const auto now = std::chrono::steady_clock::now();
  if (shown_ && (stage != stage_ || now - last_ > std::chrono::milliseconds(100))) {
    const int filled = static_cast<int>(30 * std::clamp(share, 0.0, 1.0));
    fmt::print(stderr, "\r\x1b[K{:<10} [{}{}] {:3.0f} %", plain_text(stage),
               std::string(static_cast<std::size_t>(filled), '='),
               std::string(static_cast<std::size_t>(30 - filled), ' '), 100 * std::clamp(share, 0.0, 1.0));
    std::fflush(stderr);
    last_ = now, stage_ = stage, drawn_ = true;
  }
  return !stop_asked();
}

void ProgressBar::clear() {
  if (drawn_)
    fmt::print(stderr, "\r\x1b[K");
  drawn_ = false;
}

} // namespace snagmap
