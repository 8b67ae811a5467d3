#include "viz/report/stops.hpp"

#include "sim/checks/job_checks.hpp"
#include "viz/draw/drawing.hpp"
#include "viz/words/shown.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace snagmap {
namespace {

constexpr std::size_t kStopsListed = 20, kEventsTold = 3;

std::string plural(std::size_t count, const char* noun) {
  return fmt::format("{} {}{}", count, noun, count == 1 ? "" : "s");
}

} // namespace

std::string stops_html(const Preview& preview, const ReportLinks& links) {
  if (!preview.checks || preview.checks->timeline.stops.empty())
    return "";
  const RiskTimeline& timeline = preview.checks->timeline;
  std::string out =
      fmt::format("<h2 id=\"stops\">Where to stop and look</h2>\n<p>{} before {} foreseen. A stop changes "
                  "nothing in the cut: stand by with the "
                  "spindle at rest, and look.</p>\n<table class=\"cards\" role=\"table\">\n<caption>Stops in "
                  "the order of the program</caption>\n"
                  "<thead role=\"rowgroup\"><tr role=\"row\"><th role=\"columnheader\" scope=\"col\" "
                  "class=\"n\">Before</th>"
                  "<th role=\"columnheader\" scope=\"col\" class=\"n\">Time</th><th role=\"columnheader\" "
                  "scope=\"col\">What comes</th></tr></thead>\n"
                  "<tbody role=\"rowgroup\">\n",
                  plural(timeline.stops.size(), "stop"), plural(timeline.events.size(), "event"));
  for (std::size_t i = 0; i < std::min(kStopsListed, timeline.stops.size()); ++i) {
    const RiskStop& stop = timeline.stops[i];
    std::string words;
    for (std::size_t k = 0; k < std::min(kEventsTold, stop.events.size()); ++k)
      words += (k > 0 ? "; " : "") + escaped(timeline.events[stop.events[k]].words);
    if (stop.events.size() > kEventsTold)
      words += fmt::format("; and {} more", stop.events.size() - kEventsTold);
    out += "<tr role=\"row\">" + cell("Before", links.line(stop.line), true, std::to_string(stop.line)) +
           cell("Time", time_text(stop.time_s), true) + cell("What comes", words) + "</tr>\n";
  }
  out += "</tbody>\n</table>\n";
  if (timeline.stops.size() > kStopsListed)
    out += fmt::format("<p>{} more are in result.json.</p>\n", timeline.stops.size() - kStopsListed);
  return out;
}

} // namespace snagmap
