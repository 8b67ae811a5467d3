#include "sim/preview/stops_program.hpp"

#include "sim/checks/job_checks.hpp"
#include "sim/path/with_stops.hpp"

#include <fmt/format.h>

namespace snagmap {
namespace {

std::vector<std::string> head_of(const Preview& preview) {
  const RiskTimeline& timeline = preview.checks->timeline;
  std::vector<std::string> lines{preview.scene.title, "stops put in by snagmap: " + stops_summary(timeline),
                                 stop_caution()};
  std::size_t n = 0;
  for (const std::string& step : stop_steps(timeline))
    lines.push_back(fmt::format("at each stop, {}: {}", ++n, step));
  n = 0;
  for (const RiskStop& stop : timeline.stops)
    lines.push_back(fmt::format("stop {}, {}: look for {}", ++n, stop_place(stop),
                                what_to_look_for(timeline, stop.events)));
  if (!timeline.at_end.empty())
    lines.push_back("at the end look for " + what_to_look_for(timeline, timeline.at_end));
  lines.push_back("lines are those of the program without the stops");
  lines.push_back("a prediction, not a promise: preview this program and run it in air before it meets foam");
  return lines;
}

} // namespace

Path path_with_stops(const Preview& preview) {
  const RiskTimeline& timeline = preview.checks->timeline;
  std::vector<StopAt> places;
  for (const RiskStop& stop : timeline.stops)
    if (!stop.given)
      places.push_back({stop.move, stop.share});
  return with_stops(preview.path, preview.scene.sheet.high.z, timeline.clear_mm, timeline.run_up_s, places);
}

Outcome<WrittenProgram> program_with_stops(const Preview& preview) {
  if (!preview.checks)
    return Fault{kStopsProgramFile, 0, 0, "the job was not checked, so there is no plan of stops", "", ""};
  return written_program(path_with_stops(preview), kStopsProgramFile, program_options(preview.scene),
                         head_of(preview));
}

} // namespace snagmap
