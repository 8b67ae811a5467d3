#include "viz/cli/command_line.hpp"

#include "models/base/plain_text.hpp"
#include "models/base/quantity.hpp"
#include "sim/text/table.hpp"
#include "viz/terminal/stop.hpp"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cstdio>
#include <fmt/format.h>
#include <memory>
#include <new>
#include <oneapi/tbb/global_control.h>

namespace snagmap {
namespace {

constexpr const char* kAbout =
    R"(Previews which thin features of a soft-foam insert a milling cutter will snag and tear.

Examples:
  snagmap preview scene.toml                    tear zones, table, pictures and report
  snagmap preview part.nc --foam pu-22 --cutter CARD     without a scene file
  snagmap scene part.nc                         write a starter scene to correct
  snagmap compare scene.toml --foam pe-32       cutters, foams, depths, programs side by side
  snagmap narrowest                             the narrowest web that holds, by foam, flutes and depth
  snagmap cards                                 foams, cutters and machines with their sources
  snagmap coupon scene.toml                     a test piece of the job's worst features, to cut and measure
  snagmap fit readings.csv                      its readings into a foam card of your own
  snagmap film scene.toml                       the job as a film
  snagmap serve                                 the same in a browser: drop a program, see the report
  snagmap sweep plan.toml                       a campaign of many cases
  snagmap tooth scene.toml                      what side, feed, flutes and speed do to each web

Exit status: 0 nothing at or above the alarm level; 1 the program failed; 2 the input or the options are
wrong; 3 something was found that should stop the job; 130 stopped by Ctrl-C.)";

/// Examples stand before the options, and only in the command's own help.
class ExamplesFirst : public CLI::Formatter {
public:
  explicit ExamplesFirst(std::string examples) : examples_(std::move(examples)) {}
  std::string make_description(const CLI::App* app) const override {
    return CLI::Formatter::make_description(app) + "\nExamples:\n" + examples_ + "\n";
  }

private:
  std::string examples_;
};

/// The first word that is no option of the chosen command, with the nearest that is.
std::string unexpected_words(const CLI::App& app) {
  const CLI::App* at = &app;
  for (const auto* chosen : app.get_subcommands())
    at = chosen;
  const std::vector<std::string> left = app.remaining(true);
  if (left.empty())
    return "";
  std::vector<std::string> known;
  if (at == &app)
    for (const CLI::App* command : app.get_subcommands([](const CLI::App*) { return true; }))
      known.push_back(command->get_name());
  for (const CLI::Option* option : at->get_options())
    known.push_back(option->get_name());
  const std::string near = nearest(left.front(), known);
  const char* kind = left.front().rfind('-', 0) == 0 ? "option" : at == &app ? "command" : "word";
  return fmt::format("unknown {} \"{}\"", kind, left.front()) +
         (near.empty() ? "" : "; did you mean \"" + near + "\"?");
}

int usage_error(const CLI::App& app, const CLI::ParseError& error) {
  std::string words = unexpected_words(app);
  if (words.empty())
    words = app.get_subcommands().empty() ? "name a command" : error.what();
  std::string command = "snagmap";
  for (const auto* chosen : app.get_subcommands())
    command += " " + chosen->get_name();
  fmt::print(stderr, "snagmap: {}\n  `{} --help` shows examples and options\n", plain_text(words), command);
  return kInputWrong;
}

} // namespace

CLI::App* add_command(CLI::App& app, const std::string& name, const std::string& about,
                      const std::string& examples) {
  CLI::App* command = app.add_subcommand(name, about);
  command->formatter(std::make_shared<ExamplesFirst>(examples));
  return command;
}

void print_faults(const std::vector<Fault>& faults) {
  constexpr std::size_t most = 20;
  for (std::size_t i = 0; i < std::min(most, faults.size()); ++i)
    fmt::print(stderr, "{}{}\n", faults[i].file.empty() ? "snagmap: " : "", to_text(faults[i]));
  if (faults.size() > most)
    fmt::print(stderr, "and {} more\n", faults.size() - most);
}

Outcome<double> length_option(const std::string& option, const std::string& text, double least_mm,
                              double most_mm) {
  const Outcome<double> value = parse_quantity(text, Dimension::length);
  if (!value)
    return option_fault(option + ": " + value.faults().front().what, value.faults().front().way_out);
  if (*value < least_mm || *value > most_mm)
    return option_fault(fmt::format("{} \"{}\" is out of range", option, text),
                        fmt::format("allowed: {:g} mm to {:g} mm", least_mm, most_mm));
  return *value;
}

std::shared_ptr<void> limit_threads(int threads) {
  if (threads <= 0)
    return {};
  return std::make_shared<tbb::global_control>(tbb::global_control::max_allowed_parallelism,
                                               static_cast<std::size_t>(threads));
}

int refuse(const std::vector<Fault>& faults) {
  if (stop_asked())
    return end_stopped();
  print_faults(faults);
  return kInputWrong;
}

int run_command_line(int argc, const char* const* argv) {
  try {
    CLI::App app(kAbout, "snagmap");
    app.set_version_flag("-V,--version", std::string("snagmap ") + SNAGMAP_VERSION);
    app.require_subcommand(1);
    Command chosen;
    add_preview_command(app, chosen);
    add_scene_command(app, chosen);
    add_cards_command(app, chosen);
    add_look_command(app, chosen);
    add_compare_command(app, chosen);
    add_narrowest_command(app, chosen);
    add_coupon_command(app, chosen);
    add_bench_command(app, chosen);
    add_fit_command(app, chosen);
    add_serve_command(app, chosen);
    add_film_command(app, chosen);
    add_sweep_command(app, chosen);
    add_tooth_command(app, chosen);
    try {
      app.parse(argc, argv);
    } catch (const CLI::Success& shown) { // help and version: data, on stdout
      return app.exit(shown) == 0 ? kNothingFound : kProgramFailed;
    } catch (const CLI::ParseError& error) {
      return usage_error(app, error);
    }
    return chosen();
  } catch (const std::bad_alloc&) {
    fmt::print(stderr, "snagmap: out of memory; a coarser voxel needs less: --voxel \"1 mm\"\n");
  } catch (const std::exception& error) {
    fmt::print(stderr, "snagmap: failed: {}\n", plain_text(error.what()));
  }
  return kProgramFailed;
}

} // namespace snagmap
