// The command line: each command is one function in a file of its own, listed in command_line.cpp.
#pragma once

#include "models/base/fault.hpp"
#include "models/mechanics/snag.hpp"
#include "viz/terminal/status.hpp"

#include <functional>
#include <memory>
#include <string>
#include <vector>

namespace CLI {
class App;
}

namespace snagmap {

/// What a chosen command does; its result is the exit status.
using Command = std::function<int()>;

// Each adds its command with its options to the app; when the user names it, `chosen` becomes its work.
void add_preview_command(CLI::App& app, Command& chosen);
void add_scene_command(CLI::App& app, Command& chosen);
void add_cards_command(CLI::App& app, Command& chosen);
void add_look_command(CLI::App& app, Command& chosen);
void add_compare_command(CLI::App& app, Command& chosen);
void add_narrowest_command(CLI::App& app, Command& chosen);
void add_coupon_command(CLI::App& app, Command& chosen);
void add_bench_command(CLI::App& app, Command& chosen);
void add_fit_command(CLI::App& app, Command& chosen);
void add_film_command(CLI::App& app, Command& chosen);
void add_serve_command(CLI::App& app, Command& chosen);
void add_sweep_command(CLI::App& app, Command& chosen);
void add_tooth_command(CLI::App& app, Command& chosen);

/// Parses the words, runs one command, returns the exit status. Never throws.
int run_command_line(int argc, const char* const* argv);

// For the commands.
/// A command whose help opens with what it does and its examples.
CLI::App* add_command(CLI::App& app, const std::string& name, const std::string& about,
                      const std::string& examples);
/// Faults on stderr, each as models/base/fault.hpp prints it; at most 20, then a count.
void print_faults(const std::vector<Fault>& faults);
/// A fault of an option's words.
inline Fault option_fault(const std::string& what, const std::string& way_out) {
  return Fault(what, way_out);
}
/// The length an option gives, within bounds; faults name the option.
Outcome<double> length_option(const std::string& option, const std::string& text, double least_mm,
                              double most_mm);
/// Keeps the work to so many threads for as long as it lives; 0: all cores.
std::shared_ptr<void> limit_threads(int threads);
/// Prints the faults and returns kInputWrong; once a stop was asked for, says that instead: a stage that was
/// told to stop has no other fault.
int refuse(const std::vector<Fault>& faults);

} // namespace snagmap
