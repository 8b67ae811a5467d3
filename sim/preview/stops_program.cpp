#include "sim/preview/stops_program.hpp"

#include "sim/checks/job_checks.hpp"
#include "sim/path/with_stops.hpp"

namespace snagmap {
Path path_with_stops(const Preview& preview) {
  const RiskTimeline& timeline = preview.checks->timeline;
  std::vector<StopAt> places;
  for (const RiskStop& stop : timeline.stops)
    if (!stop.given)
      places.push_back({stop.move, stop.share});
  return with_stops(preview.path, preview.scene.sheet.high.z, timeline.clear_mm, timeline.run_up_s, places);
}

Outcome<WrittenProgram> program_with_stops(const Preview& preview, const std::vector<std::string>& head,
                                           const SayRemark& say) {
  if (!preview.checks)
    return Fault("the job was not checked, so there is no plan of stops", "", kStopsProgramFile);
  return written_program(path_with_stops(preview), kStopsProgramFile, program_options(preview.scene), head,
                         say);
}

} // namespace snagmap
