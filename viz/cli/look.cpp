// `snagmap look RESULT`: the window on a result, on a scene, or on a program.
#include "viz/cli/command_line.hpp"
#include "viz/cli/job_scene.hpp"

#include "viz/cli/shown_preview.hpp"
#include "viz/window/window.hpp"

#include <CLI/CLI.hpp>
#include <filesystem>
#include <fmt/format.h>
#include <memory>

namespace snagmap {
namespace {

namespace fs = std::filesystem;

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
              : std::string("`snagmap serve` does the same in a browser")) +
         "; or run this on a desktop";
}

int run_look(const Words& words) {
  const std::string& place = words.place;
  const Outcome<ShownJob> job = shown_job(place, words.foam, words.cutters);
  if (!job)
    return refuse(job.faults());
  if (!job->result && !has_display()) // before minutes of work; what a result says of itself is read first
    return print_faults({no_display(instead_of_a_window(place))}), kProgramFailed;
  ProgressBar bar(false);
  const Outcome<Preview> found = preview_to_show(*job, bar);
  bar.clear();
  if (!found)
    return refuse(found.faults());
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
