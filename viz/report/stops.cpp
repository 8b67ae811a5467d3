#include "viz/report/stops.hpp"

#include "sim/checks/job_checks.hpp"
#include "viz/draw/drawing.hpp"
#include "viz/words/shown.hpp"
#include "viz/words/stop_words.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace snagmap {
namespace {

constexpr std::size_t kStopsListed = 40; // a plan with more is none; result.json holds all

} // namespace

std::string stops_html(const Preview& preview, const ReportLinks& links) {
  if (!preview.checks)
    return "";
  const RiskTimeline& timeline = preview.checks->timeline;
  const Shown shown{preview.scene.show_inch};
  const std::string summary = stops_summary(timeline, shown);
  if (summary.empty())
    return "";
  std::string out = "<p>" + escaped(summary) + ".</p>\n";
  if (!timeline.stops.empty()) {
    out += fmt::format("<p class=\"caution\"><strong>{}</strong></p>\n<p>At each, in this order:</p>\n<ol>\n",
                       escaped(stop_caution()));
    for (const std::string& step : stop_steps(timeline, shown))
      out += "<li>" + escaped(step) + "</li>\n";
    out += "</ol>\n<table class=\"cards\" role=\"table\">\n<caption>Stops in the order of the "
           "program</caption>\n<thead role=\"rowgroup\"><tr role=\"row\">";
    for (const auto& [head, number] : {std::pair{"Stop", true},
                                       {"Line", true},
                                       {"Time", true},
                                       {"Where", false},
                                       {"What to look for", false}})
      out += fmt::format("<th role=\"columnheader\" scope=\"col\"{}>{}</th>", number ? " class=\"n\"" : "",
                         head);
    out += "</tr></thead>\n<tbody role=\"rowgroup\">\n";
    for (std::size_t i = 0; i < std::min(kStopsListed, timeline.stops.size()); ++i) {
      const RiskStop& stop = timeline.stops[i];
      out += "<tr role=\"row\">" + cell("Stop", std::to_string(i + 1), true) +
             cell("Line", links.line(stop.line), true, std::to_string(stop.line)) +
             cell("Time", time_text(stop.time_s), true) + cell("Where", escaped(stop_place(stop, shown))) +
             cell("What to look for", escaped(what_to_look_for(timeline, stop.events, shown))) + "</tr>\n";
    }
    out += "</tbody>\n</table>\n";
    if (timeline.stops.size() > kStopsListed)
      out += fmt::format("<p>{} more are in result.json.</p>\n", timeline.stops.size() - kStopsListed);
  }
  if (!timeline.at_end.empty())
    out += "<p>At the program&#x27;s end: " + escaped(what_to_look_for(timeline, timeline.at_end, shown)) +
           ".</p>\n";
  return out;
}

} // namespace snagmap
