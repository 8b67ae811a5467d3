#include "viz/cli/shown_preview.hpp"

#include "models/base/plain_text.hpp"
#include "sim/judge/spots.hpp"
#include "sim/preview/memory_need.hpp"
#include "sim/results/results.hpp"
#include "viz/files/data_files.hpp"
#include "viz/files/mesh_file.hpp"

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

Outcome<Preview> preview_to_show(const std::string& place, ProgressBar& bar) {
  const Outcome<std::string> file = scene_file_of(place);
  if (!file)
    return file.faults();
  const Outcome<Scene> scene = read_scene(*file, stock_readers());
  if (!scene)
    return scene.faults();
  PreviewOptions options;
  options.verify = SolveChoice::none(); // minutes; a result has it already
  options.memory_limit_bytes = free_memory_bytes();
  std::optional<Result> result;
  if (fs::is_directory(place)) {
    Outcome<Result> read = read_result(place);
    if (!read)
      return read.faults();
    result = std::move(*read);
    options.voxel_mm = result->voxel_mm;
    if (const fs::path kept = fs::path(place) / kRecordFileName; fs::exists(kept))
      options.record_file = kept.string();
  }
  options.progress = [&bar](const std::string& stage, double share) { return bar(stage, share); };
  Outcome<Preview> found = preview(*scene, options);
  bar.clear();
  if (!found)
    return found;
  if (!found->record_words.empty())
    fmt::print(stderr, "{}\n", plain_text(found->record_words));
  if (result && !adopt_checks(*found, *result))
    fmt::print(
        stderr,
        "note: scene, program or snagmap changed since {} was made; what is shown is as they are now\n",
        place);
  return found;
}

} // namespace snagmap
