#include "viz/cli/job_scene.hpp"

#include "sim/scene/everyday.hpp"
#include "sim/scene/sections.hpp"
#include "viz/files/mesh_file.hpp"

#include <CLI/CLI.hpp>
#include <filesystem>
#include <fmt/format.h>

namespace snagmap {
namespace {

namespace fs = std::filesystem;

bool is_scene(const std::string& file) {
  return fs::path(file).extension() == ".toml";
}

/// What to say of foam and cutter when no card is known.
std::string first_words(const std::string& file) {
  std::string foams;
  for (const EverydayFoam& foam : everyday_foams())
    foams += fmt::format("{}\"{}\" ({})", foams.empty() ? "" : ", ", foam.name, foam.card);
  return "--foam takes " + foams +
         " or a card; --cutter takes diameter x flute length in mm, such as \"6.35 x 22\", or a card; "
         "`snagmap "
         "cards` lists both; `snagmap scene " +
         file + "` writes a scene to correct";
}

} // namespace

void add_job_options(CLI::App& command, std::string& foam, std::vector<std::string>& cutters) {
  command.add_option(
      "--foam", foam,
      "Foam card, an own card's file, an everyday name (\"soft grey sponge\"), or a kind: polyurethane, "
      "polyethylene, eva, polystyrene");
  command
      .add_option(
          "--cutter", cutters,
          "Cutter card, or diameter and flute length such as \"6.35 x 22\", for every tool, or NUMBER=CARD "
          "for each tool of the program (give it again)")
      ->allow_extra_args(false);
}

Outcome<Scene> asked_scene(const std::string& file, const std::string& foam,
                           const std::vector<std::string>& cutters) {
  if (is_scene(file)) {
    for (const auto& [option, given] : {std::pair{"--foam", !foam.empty()}, {"--cutter", !cutters.empty()}})
      if (given)
        return Fault(fmt::format("{} stands beside a scene, which names its own", option),
                     "change the scene");
    return read_scene(file, stock_readers());
  }
  std::error_code error;
  if ((foam.empty() || cutters.empty()) && !fs::is_directory(file, error))
    return Fault("a program without a scene needs --foam and --cutter", first_words(file));
  return scene_of_program(file, foam, cutters);
}

} // namespace snagmap
