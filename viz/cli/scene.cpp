// `snagmap scene PROGRAM`: a starter scene beside a program.
#include "viz/cli/command_line.hpp"

#include "models/base/plain_text.hpp"
#include "sim/program/program.hpp"
#include "sim/scene/scene.hpp"
#include "sim/text/whole_file.hpp"
#include "viz/words/note_words.hpp"

#include <CLI/CLI.hpp>
#include <cstdio>
#include <filesystem>
#include <fmt/format.h>
#include <memory>

namespace snagmap {
namespace {

namespace fs = std::filesystem;

struct Words {
  std::string program, out;
};

int write_starter(const Words& words) {
  ProgramOptions options;
  options.any_tool = true; // the scene will name them
  for (int system = 2; system <= 9; ++system)
    options.work_origin_mm[system] = {}; // any work system: the scene will place them
  options.machine_zero_mm = Vec3{};
  options.start_assumed = true;
  const Outcome<Path> path = read_program(words.program, options);
  if (!path)
    return refuse(path.faults());
  const fs::path program = fs::absolute(words.program).lexically_normal();
  const fs::path file =
      words.out.empty() ? fs::path(words.program).replace_extension(".toml") : fs::path(words.out);
  const fs::path seen = program.lexically_proximate(fs::absolute(file).lexically_normal().parent_path());
  std::vector<std::string> notes;
  for (const note::Remark& remark : path->notes)
    notes.push_back(words_of(remark, Shown{path->inch}));
  const std::string text = starter_scene(seen.string(), *path, notes);
  if (auto fault = write_whole_file(file.string(), text, Existing::kept)) {
    if (fault->way_out.empty() || fs::exists(file))
      fault->way_out = "name another file with --out";
    return refuse({*fault});
  }
  fmt::print("{}\n", plain_text(file.string()));
  fmt::print(stderr, "Correct foam, cutter and sheet in it, then: snagmap preview {}\n",
             plain_text(file.string()));
  return kNothingFound;
}

} // namespace

void add_scene_command(CLI::App& app, Command& chosen) {
  CLI::App* command = add_command(app, "scene", "Write a commented starter scene for a program.",
                                  "  snagmap scene part.nc                   writes part.toml beside it\n"
                                  "  snagmap scene part.nc --out job.toml\n");
  auto words = std::make_shared<Words>();
  command->add_option("PROGRAM", words->program, "NC program")->required();
  command->add_option("--out", words->out, "Scene file to write; an existing one is never overwritten");
  command->callback([words, &chosen] { chosen = [words] { return write_starter(*words); }; });
}

} // namespace snagmap
