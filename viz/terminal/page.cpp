#include "viz/terminal/page.hpp"

#include "sim/checks/job_checks.hpp"
#include "viz/terminal/lists.hpp"
#include "viz/words/advice_words.hpp"
#include "viz/words/finding_words.hpp"
#include "viz/words/shown.hpp"

#include <algorithm>
#include <fmt/format.h>
#include <set>

namespace snagmap {
namespace {

constexpr std::size_t kWebsNearest = 3; // shown when none alarms
constexpr std::size_t kLeastRows = 3;   // lines of the table for which other parts make way
constexpr std::size_t kAdviceShown = 3;

constexpr const char* kCaution = "Predictions, no clearance to cut: the machine's manual and trained "
                                 "practice come first. Never reach for a "
                                 "strand on a turning cutter.";

const char* plural(std::size_t count) {
  return count == 1 ? "" : "s";
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
      style);
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

/// The verdict.
Lines head_lines(const Preview& preview, const JobAnswer& answer, const Alarm& alarm,
                 const TerminalStyle& style) {
  const Lines head = wrapped_plain(headline(preview, answer, alarm), style);
  return alarms(preview, alarm) ? alarm_lines(head, style) : head;
}

/// Those that alarm, or the few that come nearest.
std::vector<int> webs_shown(const Preview& preview, const JobAnswer& answer, const Alarm& alarm) {
  std::vector<int> webs = alarming_webs(preview, alarm);
  if (webs.empty())
    for (const WebRow& row : answer.rows)
      if (webs.size() < kWebsNearest)
        webs.push_back(row.web);
  return webs;
}

/// What the page is made of, in its order; the table's first entry is its head.
struct Parts {
  Lines head, helps, advice;
  std::vector<Lines> table;
  Lines caption, stops, hand, look;
  std::size_t last = 0; ///< lines after these

  std::size_t fixed() const {
    return head.size() + helps.size() + stops.size() + advice.size() + hand.size() + look.size() +
           (table.empty() ? 0 : table.front().size() + caption.size() + 1) + last;
  }
};

Parts all_parts(const Preview& preview, const JobAnswer& answer, const Alarm& alarm,
                const TerminalStyle& style) {
  Parts parts;
  parts.head = head_lines(preview, answer, alarm, style);
  for (const std::string& sentence : remedies(preview, answer))
    add(parts.helps, wrapped_plain(sentence, style));
  parts.advice = advice_lines(preview, style);
  const std::vector<int> webs = webs_shown(preview, answer, alarm);
  if (!webs.empty()) {
    parts.table = web_table(preview, answer, webs, style);
    parts.caption =
        wrapped_plain(fmt::format("Lengths in {}; needs: the least thickness that holds. S: how hard the "
                                  "cutter pulls; from 1 on a web snags. Range: the foam's spread.",
                                  Shown{preview.scene.show_inch}.unit()),
                      style);
  }
  parts.stops = stop_lines(preview, style);
  parts.hand = wrapped_plain("Check by hand: " + by_hand(preview), style);
  parts.look = look_lines(preview, style);
  // Where the result lies, and that a file was left out of it.
  const std::size_t place_lines = preview.path.moves.size() > kMostForVolume ? 3 : 1;
  const std::string end = last_lines(preview, answer, alarm, style);
  parts.last = static_cast<std::size_t>(std::count(end.begin(), end.end(), '\n')) + place_lines +
               rest_lines(preview, answer.rows.size(), style).size();
  return parts;
}

/// What the report holds gives way to the first rows of the table.
void make_way(Parts& parts, const Preview& preview, const TerminalStyle& style) {
  std::size_t wish = 0;
  for (std::size_t n = 1; n < parts.table.size() && wish < kLeastRows; ++n)
    wish += parts.table[n].size();
  const auto over = [&] { return parts.fixed() + wish > kPageLines; };
  for (Lines* part : {&parts.advice, &parts.look, &parts.hand})
    if (over())
      part->clear();
  const std::size_t stops = stopping_words(preview).size();
  if (over() && !parts.stops.empty()) // a single sentence longer than the page
    parts.stops = wrapped_plain(fmt::format("{} more finding{} stop{} the job: see report.html.", stops,
                                            plural(stops), stops == 1 ? "s" : ""),
                                style);
  if (over() && !parts.helps.empty())
    parts.helps = wrapped_plain("What would help stands in report.html.", style);
}

} // namespace

std::string terminal_page(const Preview& preview, const JobAnswer& answer, const Alarm& alarm,
                          const TerminalStyle& style) {
  Parts parts = all_parts(preview, answer, alarm, style);
  make_way(parts, preview, style);
  const std::size_t left = kPageLines - std::min(kPageLines, parts.fixed());
  Lines page = parts.head;
  add(page, parts.helps);
  add(page, parts.advice);
  std::size_t told = 0;
  if (!parts.table.empty()) {
    page.emplace_back();
    add(page, parts.table.front());
    for (std::size_t n = 1, used = 0; n < parts.table.size() && used + parts.table[n].size() <= left; ++n) {
      used += parts.table[n].size(), ++told;
      add(page, parts.table[n]);
    }
    add(page, parts.caption);
  }
  add(page, parts.stops);
  add(page, parts.hand);
  add(page, parts.look);
  add(page, rest_lines(preview, answer.rows.size() - told, style));
  return joined(page);
}

std::string last_lines(const Preview& preview, const JobAnswer& answer, const Alarm& alarm,
                       const TerminalStyle& style) {
  Lines lines = wrapped_plain(kCaution, style);
  add(lines, head_lines(preview, answer, alarm, style));
  return joined(lines);
}

} // namespace snagmap
