#include "tests/bench/elements/webs.hpp"

#include "sim/preview/preview.hpp"
#include "tests/bench/measure.hpp"

#include <map>
#include <set>

using namespace snagmap;

namespace {

struct Run {
  Preview found;
  double seconds = 0, verify_s = 0;
};

Run run(const Scene& scene, SolveChoice verify) {
  PreviewOptions options;
  options.verify = verify;
  Run one;
  one.seconds = bench::timed([&] {
    Outcome<Preview> found = preview(scene, options);
    if (found)
      one.found = std::move(*found);
    else
      std::puts(to_text(found.faults().front()).c_str());
  });
  for (const StageTime& time : one.found.times)
    if (time.stage == "verify")
      one.verify_s = time.seconds;
  return one;
}

} // namespace

void measure_webs() {
  const Outcome<Scene> scene = read_scene(std::string(SNAGMAP_ROOT) + "/scenes/bicycle-case/scene.toml");
  if (!scene) {
    std::puts(to_text(scene.faults().front()).c_str());
    return;
  }
  const Run by_default = run(*scene, SolveChoice::plausible());
  std::set<int> webs, formula_only;
  std::map<std::string, int> why;
  int solved = 0, matter = 0;
  for (const Spot& spot : by_default.found.spots) {
    if (!(spot.by_formula().s_high >= 0.5) && !spot.question.laminate)
      continue;
    ++matter, solved += spot.solved();
    webs.insert(spot.web);
    if (!spot.solved())
      formula_only.insert(spot.web),
          ++why[spot.fe && spot.fe->why_not ? kind_text(*spot.fe->why_not) : "not chosen"];
  }
  std::printf("demo, default: %d of %d spots that could matter solved, %.1f s, of which elements %.1f s\n",
              solved, matter, by_default.seconds, by_default.verify_s);
  for (const auto& [words, count] : why)
    std::printf("  %d: %s\n", count, words.c_str());
  const Run all = run(*scene, SolveChoice::all());
  int verified = 0;
  for (const Spot& spot : all.found.spots)
    verified += spot.solved();
  std::printf("demo, all: %d of %zu spots solved, %.1f s, of which elements %.1f s\n", verified,
              all.found.spots.size(), all.seconds, all.verify_s);
  bench::goal("webs_by_elements_percent",
              webs.empty() ? 0 : 100.0 * double(webs.size() - formula_only.size()) / double(webs.size()), 100,
              false);
  bench::goal("demo_all_webs_s", all.seconds, 20, true);
}
