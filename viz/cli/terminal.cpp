#include "viz/cli/terminal.hpp"

#include "models/base/plain_text.hpp"
#include "sim/checks/job_checks.hpp"
#include "viz/cli/stop.hpp"
#include "viz/words/advice_words.hpp"
#include "viz/words/note_words.hpp"
#include "viz/words/run_lines.hpp"
#include "viz/words/shown.hpp"
#include "viz/words/spot_words.hpp"
#include "viz/words/stop_words.hpp"
#include "viz/words/web_words.hpp"
#include "viz/words/wrapped.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <fmt/format.h>
#include <set>
#include <sys/ioctl.h>
#include <unistd.h>

namespace snagmap {
namespace {

/// Bold for what alarms, in the one alarm colour of all views (viz/draw/colours.hpp); nothing else is
/// coloured.
constexpr const char* kAlarmCode = "1;38;2;213;50;20";
constexpr std::size_t kLeastColumns = 40, kMostColumns = 120;
constexpr std::size_t kWebsNearest = 3; // shown when none alarms
constexpr std::size_t kLeastRows = 3;   // lines of the table for which other parts make way
constexpr std::size_t kAdviceShown = 3;

constexpr const char* kCaution = "Predictions, no clearance to cut: the machine's manual and trained "
                                 "practice come first. Never reach for a "
                                 "strand on a turning cutter.";

using Lines = std::vector<std::string>;

std::string with_code(const std::string& text, const char* code, bool colour) {
  return colour ? fmt::format("\x1b[{}m{}\x1b[0m", code, text) : text;
}

const char* plural(std::size_t count) {
  return count == 1 ? "" : "s";
}

void add(Lines& to, const Lines& lines) {
  to.insert(to.end(), lines.begin(), lines.end());
}

std::string joined(const Lines& lines) {
  std::string text;
  for (const std::string& line : lines)
    text += line + "\n";
  return text;
}

Lines wrapped_plain(const std::string& text, const TerminalStyle& style, const std::string& indent = "") {
  return wrapped(plain_text(text), style.columns, indent);
}

Lines alarm_lines(Lines lines, bool colour) {
  for (std::string& line : lines)
    line = with_code(line, kAlarmCode, colour);
  return lines;
}

/// The first stop of the job whole, the others counted.
Lines stop_lines(const Preview& preview, const TerminalStyle& style) {
  const std::vector<std::string> stops = stopping_words(preview);
  if (stops.empty())
    return {};
  Lines lines = alarm_lines(
      wrapped_plain((stops.size() > 1 ? fmt::format("{} more things stop the job; the first: ", stops.size())
                                      : std::string("What else stops the job: ")) +
                        stops.front() + ".",
                    style),
      style.colour);
  return lines;
}

/// When to stop and look, and the caution of whoever does.
Lines look_lines(const Preview& preview, const TerminalStyle& style) {
  if (!preview.checks || preview.checks->timeline.stops.empty())
    return {};
  const std::vector<RiskStop>& stops = preview.checks->timeline.stops;
  std::set<std::int32_t> lines; // several may lie in one
  for (const RiskStop& stop : stops)
    lines.insert(stop.line);
  std::string text = fmt::format("Stop and look {} time{}, at line", stops.size(), plural(stops.size()));
  constexpr std::size_t kTold = 6;
  std::size_t n = 0;
  for (auto line = lines.begin(); line != lines.end() && n < kTold; ++line, ++n)
    text += fmt::format("{}{}", n == 0 ? (lines.size() > 1 ? "s " : " ") : ", ", *line);
  if (lines.size() > kTold)
    text += fmt::format(" and {} more", lines.size() - kTold);
  return wrapped_plain(text + ". Hands stay away until the spindle stands still.", style);
}

/// The best of what was tried whole, after the one the verdict names.
Lines advice_lines(const Preview& preview, const TerminalStyle& style) {
  Lines lines;
  if (!preview.advice)
    return lines;
  const Shown shown{preview.scene.show_inch};
  const auto& ranked = preview.advice->ranked;
  for (std::size_t n = 1; n < std::min(kAdviceShown, ranked.size()); ++n)
    add(lines, wrapped_plain(fmt::format("{}. {}", n + 1, words_of(ranked[n].lever, shown)), style, "   "));
  return lines;
}

/// What the page leaves out, counted.
Lines rest_lines(const Preview& preview, std::size_t webs, const TerminalStyle& style) {
  std::string text;
  const auto count = [&text](std::size_t n, const char* what) {
    if (n > 0)
      text += fmt::format("{}{} {}{}", text.empty() ? "" : ", ", n, what, plural(n));
  };
  count(webs, "further web");
  const auto stops = static_cast<std::size_t>(std::count_if(preview.findings.begin(), preview.findings.end(),
                                                            [](const Finding& f) { return f.stops_job; }));
  count(preview.findings.size() - std::min<std::size_t>(stops, preview.findings.size()), "finding");
  count(preview.notes.size(), "note");
  if (!preview.assumptions.empty())
    text += fmt::format("{}{} assumed value{}", text.empty() ? "" : ", ", preview.assumptions.size(),
                        plural(preview.assumptions.size()));
  return text.empty() ? Lines{} : wrapped_plain("More in report.html or by --full: " + text + ".", style);
}

} // namespace

std::size_t terminal_columns(int file_descriptor) {
  long columns = 0;
  if (const char* word = std::getenv("COLUMNS"))
    columns = std::strtol(word, nullptr, 10);
  winsize size{};
  if (columns <= 0 && isatty(file_descriptor) && ioctl(file_descriptor, TIOCGWINSZ, &size) == 0)
    columns = size.ws_col;
  if (columns <= 0)
    return 80;
  return std::clamp(static_cast<std::size_t>(columns), kLeastColumns, kMostColumns);
}

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
  if (style.colour)
    for (std::size_t n = 0; n < table.size(); ++n)
      for (std::string& line : table[n])
        line = n == 0 ? with_code(line, "1", true) : with_code(line, kAlarmCode, alarm[n]);
  return table;
}

std::string terminal_page(const Preview& preview, const JobAnswer& answer, const Alarm& alarm,
                          const TerminalStyle& style) {
  const std::vector<int> alarming = alarming_webs(preview, alarm);
  const Shown shown{preview.scene.show_inch};
  const bool alarms_now = alarms(preview, alarm);
  const Lines head =
      alarm_lines(wrapped_plain(headline(preview, answer, alarm), style), alarms_now && style.colour);
  Lines helps, stops = stop_lines(preview, style), advice = advice_lines(preview, style);
  for (const std::string& sentence : remedies(preview, answer))
    add(helps, wrapped_plain(sentence, style));
  Lines hand = wrapped_plain("Check by hand: " + by_hand(preview), style), look = look_lines(preview, style);
  std::vector<int> shown_webs = alarming;
  if (shown_webs.empty())
    for (const WebRow& row : answer.rows)
      if (shown_webs.size() < kWebsNearest)
        shown_webs.push_back(row.web);
  const std::vector<Lines> table =
      shown_webs.empty() ? std::vector<Lines>{} : web_table(preview, answer, shown_webs, style);
  const Lines caption =
      table.empty()
          ? Lines{}
          : wrapped_plain(fmt::format("Lengths in {}; needs: the least thickness that holds. S: how hard "
                                      "the cutter pulls; from 1 on a web snags. Range: the foam's spread.",
                                      shown.unit()),
                          style);
  // Where the result lies, and that a file was left out of it.
  const std::size_t place_lines = preview.path.moves.size() > kMostForVolume ? 3 : 1;
  const std::string end = last_lines(preview, answer, alarm, style);
  const std::size_t last = static_cast<std::size_t>(std::count(end.begin(), end.end(), '\n')) + place_lines +
                           rest_lines(preview, answer.rows.size(), style).size();
  const auto fixed = [&] {
    return head.size() + helps.size() + stops.size() + advice.size() + hand.size() + look.size() +
           (table.empty() ? 0 : table.front().size() + caption.size() + 1) + last;
  };
  std::size_t wish = 0; // lines of the table that other parts make way for
  for (std::size_t n = 1; n < table.size() && wish < kLeastRows; ++n)
    wish += table[n].size();
  for (Lines* part : {&advice, &look, &hand}) // the report holds them
    if (fixed() + wish > kPageLines)
      part->clear();
  for (Lines* part : {&stops, &helps}) // a single sentence longer than the page
    if (fixed() + wish > kPageLines)
      *part = wrapped_plain(part == &stops ? fmt::format("{} more finding{} stop{} the job: see report.html.",
                                                         stopping_words(preview).size(),
                                                         plural(stopping_words(preview).size()),
                                                         stopping_words(preview).size() == 1 ? "s" : "")
                                           : std::string("What would help stands in report.html."),
                            style);
  const std::size_t left = kPageLines - std::min(kPageLines, fixed());
  Lines page = head;
  add(page, helps);
  add(page, advice);
  std::size_t told = 0;
  if (!table.empty()) {
    page.emplace_back();
    add(page, table.front());
    for (std::size_t n = 1, used = 0; n < table.size() && used + table[n].size() <= left; ++n) {
      used += table[n].size(), ++told;
      add(page, table[n]);
    }
    add(page, caption);
  }
  add(page, stops);
  add(page, hand);
  add(page, look);
  add(page, rest_lines(preview, answer.rows.size() - told, style));
  return joined(page);
}

std::string last_lines(const Preview& preview, const JobAnswer& answer, const Alarm& alarm,
                       const TerminalStyle& style) {
  Lines lines = wrapped_plain(kCaution, style);
  add(lines, alarm_lines(wrapped_plain(headline(preview, answer, alarm), style),
                         alarms(preview, alarm) && style.colour));
  return joined(lines);
}

std::string finding_list(const Preview& preview, const TerminalStyle& style) {
  Lines lines;
  for (const bool stops : {true, false})
    for (const Finding& finding : preview.findings)
      if (finding.stops_job == stops) {
        const Lines said = wrapped_plain((stops ? "stop: " : "note: ") + moment_words(finding) + ": " +
                                             words_of(finding.what, Shown{preview.scene.show_inch}),
                                         style, "      ");
        add(lines, alarm_lines(said, stops && style.colour));
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
