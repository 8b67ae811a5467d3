// `snagmap look RESULT`: the window on a result, on a scene, or on a program.
#include "viz/cli/command_line.hpp"
#include "viz/cli/job_scene.hpp"

#include "models/base/plain_text.hpp"
#include "sim/judge/spots.hpp"
#include "sim/preview/memory_need.hpp"
#include "sim/results/results.hpp"
#include "viz/files/data_files.hpp"
#include "viz/terminal/progress.hpp"
#include "viz/window/window.hpp"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <filesystem>
#include <fmt/format.h>
#include <fstream>
#include <map>
#include <memory>
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
               "give the scene instead: snagmap look scene.toml", place);
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

struct Words {
  std::string place, foam;
  std::vector<std::string> cutters;
};

/// What to do where no window can open.
std::string instead_of_a_window(const std::string& place) {
  const fs::path report = fs::path(place) / "report.html";
  std::error_code error;
  return (fs::is_regular_file(report, error)
              ? fmt::format("open {} in a browser: the sheet turns there", report.string())
              : std::string("`snagmap preview` writes report.html, in which a browser turns the sheet")) +
         "; or run this on a desktop";
}

int run_look(const Words& words) {
  const std::string& place = words.place;
  const bool is_result = fs::is_directory(place);
  const Outcome<std::string> file = scene_file_of(place);
  if (!file)
    return refuse(file.faults());
  const Outcome<Scene> scene = asked_scene(*file, words.foam, words.cutters);
  if (!scene)
    return refuse(scene.faults());
  if (!is_result && !has_display()) // before minutes of work; what a result says of itself is read first
    return print_faults({no_display(instead_of_a_window(place))}), kProgramFailed;
  PreviewOptions options;
  options.verify = SolveChoice::none(); // minutes; a result has it already
  options.memory_limit_bytes = free_memory_bytes();
  std::optional<Result> result;
  if (is_result) {
    Outcome<Result> read = read_result(place);
    if (!read)
      return refuse(read.faults());
    result = std::move(*read);
    options.voxel_mm = result->voxel_mm;
    if (const fs::path kept = fs::path(place) / kRecordFileName; fs::exists(kept))
      options.record_file = kept.string();
  }
  ProgressBar bar(false);
  options.progress = [&bar](const std::string& stage, double share) { return bar(stage, share); };
  Outcome<Preview> found = preview(*scene, options);
  bar.clear();
  if (!found)
    return refuse(found.faults());
  if (!found->record_words.empty())
    fmt::print(stderr, "{}\n", plain_text(found->record_words));
  if (result && !adopt_checks(*found, *result))
    fmt::print(
        stderr,
        "note: scene, program or snagmap changed since {} was made; the window shows them as they are now\n",
        place);
  if (const auto fault = look(*found, instead_of_a_window(place))) {
    print_faults({*fault});
    return kProgramFailed;
  }
  return kNothingFound;
}

} // namespace

void add_look_command(CLI::App& app, Command& chosen) {
  CLI::App* command =
      add_command(app, "look", "Walk through the cut in a window: any moment, any web.",
                  "  snagmap look out/bicycle-case                  a result of `snagmap preview`\n"
                  "  snagmap look scene.toml                        keys: F1 lists them\n"
                  "  snagmap look part.nc --foam pu-22 --cutter CARD\n");
  auto words = std::make_shared<Words>();
  command
      ->add_option("RESULT", words->place,
                   "Result folder, a scene (.toml), or an NC program with --foam and --cutter")
      ->required();
  add_job_options(*command, words->foam, words->cutters);
  command->callback([words, &chosen] { chosen = [words] { return run_look(*words); }; });
}

} // namespace snagmap
