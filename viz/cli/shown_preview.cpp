#include "viz/cli/shown_preview.hpp"

#include "models/base/plain_text.hpp"
#include "sim/judge/spots.hpp"
#include "sim/preview/memory_need.hpp"
#include "sim/results/results.hpp"
#include "viz/cli/job_scene.hpp"
#include "viz/files/data_files.hpp"

#include <algorithm>
#include <filesystem>
#include <fmt/format.h>
#include <fstream>
#include <map>
#include <optional>
#include <tuple>

namespace snagmap {
namespace {

namespace fs = std::filesystem;

/// The scene a result was made from; the window needs its record, which is cut again in seconds.
Outcome<std::string> scene_file_of(const std::string& place) {
  if (!fs::is_directory(place))
    return place;
  std::ifstream file(fs::path(place) / kSceneFileName);
  std::string scene;
  if (std::getline(file, scene) && fs::exists(scene))
    return scene;
  return Fault(scene.empty() ? "no result that names its scene" : "its scene is gone: " + scene,
               "give the scene instead: scene.toml", place);
}

/// Takes over the finite-element checks of a result whose every spot is found again; false when they differ.
bool adopt_checks(Preview& found, const Result& result) {
  if (found.spots.size() != result.spots.size())
    return false;
  const auto key = [](const Spot& s) { return std::tuple(s.move, s.web, s.pass, s.program_line); };
  std::map<decltype(key(result.spots.front())), const Spot*> known;
  for (const Spot& spot : result.spots)
    known[key(spot)] = &spot;
  if (!std::all_of(found.spots.begin(), found.spots.end(),
                   [&](const Spot& s) { return known.count(key(s)) > 0; }))
    return false;
  for (Spot& spot : found.spots) {
    const Spot& said = *known[key(spot)];
    spot.fe = said.fe;
    if (spot.solved())
      spot.screened = spot.answer, spot.answer = said.answer;
  }
  follow_elements(found);
  return true;
}

} // namespace

Outcome<ShownJob> shown_job(const std::string& place, const std::string& foam,
                            const std::vector<std::string>& cutters) {
  const Outcome<std::string> file = scene_file_of(place);
  if (!file)
    return file.faults();
  const Outcome<Scene> scene = asked_scene(*file, foam, cutters);
  if (!scene)
    return scene.faults();
  ShownJob job{place, *scene, {}};
  if (fs::is_directory(place)) {
    Outcome<Result> read = read_result(place);
    if (!read)
      return read.faults();
    job.result = std::move(*read);
  }
  return job;
}

Outcome<Preview> preview_to_show(const ShownJob& job, ProgressBar& bar) {
  PreviewOptions options;
  options.verify = SolveChoice::none(); // minutes; a result has it already
  options.memory_limit_bytes = free_memory_bytes();
  if (job.result) {
    options.voxel_mm = job.result->voxel_mm;
    if (const fs::path kept = fs::path(job.place) / kRecordFileName; fs::exists(kept))
      options.record_file = kept.string();
  }
  options.progress = [&bar](const std::string& stage, double share) { return bar(stage, share); };
  Outcome<Preview> found = preview(job.scene, options);
  bar.clear();
  if (!found)
    return found;
  if (!found->record_words.empty())
    fmt::print(stderr, "{}\n", plain_text(found->record_words));
  if (job.result && !adopt_checks(*found, *job.result))
    fmt::print(
        stderr,
        "note: scene, program or snagmap changed since {} was made; what is shown is as they are now\n",
        job.place);
  return found;
}

} // namespace snagmap
