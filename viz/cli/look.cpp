// `snagmap look RESULT`: the window on a result, or on a scene.
#include "viz/cli/command_line.hpp"

#include "viz/cli/shown_preview.hpp"
#include "viz/window/window.hpp"

#include <CLI/CLI.hpp>
#include <memory>

namespace snagmap {
namespace {

int run_look(const std::string& place) {
  ProgressBar bar(false);
  const Outcome<Preview> found = preview_to_show(place, bar);
  bar.clear();
  if (!found)
    return refuse(found.faults());
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
