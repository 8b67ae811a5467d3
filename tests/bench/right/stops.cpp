// Part 'stops': how many stops the demo's plan puts in, and by which limits.
#include "sim/checks/job_checks.hpp"
#include "sim/preview/preview.hpp"
#include "tests/bench/right/parts.hpp"
#include "viz/words/stop_words.hpp"

#include <cstdio>

namespace snagmap::bench {

std::vector<RightGoal> right_stops() {
  const Outcome<Scene> scene = read_scene(SNAGMAP_ROOT "/scenes/bicycle-case/scene.toml");
  PreviewOptions options;
  options.verify =
      SolveChoice::none(); // S of the formula: which webs are listed at a stop, not when a stop is due
  const Outcome<Preview> found = scene ? preview(*scene, options) : Outcome<Preview>(scene.faults());
  if (!found) {
    std::printf("%s\n", to_text(found.faults().front()).c_str());
    return {{"stops_demo", 1e9, 6}};
  }
  const RiskTimeline& timeline = found->checks->timeline;
  std::printf("program %.0f s, %zu events; %s\n", found->motion.total_s(), timeline.events.size(),
              stops_summary(timeline, {}).c_str());
  for (const RiskStop& stop : timeline.stops)
    std::printf("%7.1f s  %s\n", stop.time_s, stop_place(stop, {}).c_str());
  return {{"stops_demo", static_cast<double>(timeline.added()), 6}};
}

} // namespace snagmap::bench
