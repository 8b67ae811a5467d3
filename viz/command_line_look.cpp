// `snagmap look RESULT`: the window on a result, or on a scene.
#include "viz/command_line.hpp"

#include "viz/data_files.hpp"
#include "viz/terminal.hpp"
#include "viz/window.hpp"

#include <CLI/CLI.hpp>
#include <filesystem>
#include <fmt/format.h>
#include <fstream>
#include <memory>

namespace snagmap {
namespace {

namespace fs = std::filesystem;

/// The scene a result was made from; the window needs its record, which is cut again in seconds.
Outcome<std::string> scene_file_of(const std::string& place) {
  if (!fs::is_directory(place)) return place;
  std::ifstream file(fs::path(place) / kSceneFileName);
  std::string scene;
  if (std::getline(file, scene) && fs::exists(scene)) return scene;
  return Fault{place, 0, 0, scene.empty() ? "no result that names its scene" : "its scene is gone: " + scene,
               "give the scene instead: snagmap look scene.toml", ""};
}

int run_look(const std::string& place) {
  const Outcome<std::string> file = scene_file_of(place);
  if (!file) return refuse(file.faults());
  const Outcome<Scene> scene = read_scene(*file);
  if (!scene) return refuse(scene.faults());
  PreviewOptions options;
  options.verify = 0;
  ProgressBar bar(false);
  options.progress = [&bar](const std::string& stage, double share) { return bar(stage, share); };
  const Outcome<Preview> found = preview(*scene, options);
  bar.clear();
  if (!found) return refuse(found.faults());
  if (const auto fault = look(*found)) {
    print_faults({*fault});
    return kProgramFailed;
  }
  return kNothingFound;
}

} // namespace

void add_look_command(CLI::App& app, Command& chosen) {
  CLI::App* command = add_command(app, "look", "Walk through the cut in a window: any moment, any web.",
                                  "  snagmap look out/bicycle-case    a result of `snagmap preview`\n"
                                  "  snagmap look scene.toml          keys: F1 lists them\n");
  auto place = std::make_shared<std::string>();
  command->add_option("RESULT", *place, "Result folder, or a scene (.toml)")->required();
  command->callback([place, &chosen] { chosen = [place] { return run_look(*place); }; });
}

} // namespace snagmap
