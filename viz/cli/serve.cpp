// `snagmap serve`: the program as a page in a browser of this machine.
#include "viz/cli/command_line.hpp"

#include "models/base/quantity.hpp"
#include "sim/preview/memory_need.hpp"
#include "viz/serve/server.hpp"
#include "viz/terminal/stop.hpp"
#include "viz/words/page_words.hpp"

#include <CLI/CLI.hpp>
#include <cstdio>
#include <fmt/format.h>
#include <memory>
#include <optional>
#include <thread>
#include <vector>

namespace snagmap {
namespace {

struct Words {
  std::string folder = "out", listen = "127.0.0.1", time = "60 min";
  int port = 0, at_once = 0;
  std::uint64_t memory_bytes = 0;
};

Outcome<LineLimits> limits_of(const Words& words) {
  LineLimits limits;
  const Outcome<double> seconds = parse_quantity(words.time, Dimension::time);
  if (!seconds)
    return option_fault("--time: " + seconds.faults().front().what, seconds.faults().front().way_out);
  if (*seconds < 1 || *seconds > 7 * 24 * 3600)
    return option_fault("--time \"" + words.time + "\" is out of range", "allowed: 1 s to 168 h");
  limits.seconds = *seconds;
  const std::uint64_t free_bytes = free_memory_bytes();
  const int room = room_for(std::thread::hardware_concurrency(), free_bytes, words.memory_bytes);
  limits.at_once = words.at_once > 0 ? words.at_once : room;
  limits.memory_bytes =
      words.memory_bytes > 0 ? words.memory_bytes : free_bytes / static_cast<std::uint64_t>(limits.at_once);
  return limits;
}

/// Answers until a stop is asked for, and ends what runs. Fault: nothing can be served.
std::optional<std::vector<Fault>> serve(const Words& words, const LineLimits& limits) {
  Outcome<ServedFolder> folder = ServedFolder::open(words.folder);
  if (!folder)
    return folder.faults();
  JobLine line(*folder, limits);
  const auto page = PageServer::open(*folder, line, words.listen, words.port);
  if (!page)
    return page.faults();
  const bool alone = words.listen.rfind("127.", 0) == 0 || words.listen == "::1";
  fmt::print("{}",
             serve_words((*page)->guard().first_address(), folder->path().string(), limits.at_once, !alone));
  std::fflush(stdout);
  (*page)->run([] { return !stop_asked(); });
  return {};
}

int run_serve(const Words& words) {
  if (!is_numeric_address(words.listen))
    return refuse(
        {option_fault("--listen \"" + words.listen + "\" is no address in digits",
                      "such as 127.0.0.1 for this machine alone, or the machine's own in your network")});
  const Outcome<LineLimits> limits = limits_of(words);
  if (!limits)
    return refuse(limits.faults());
  stays_when_stopped("what is finished stays in the folder");
  const auto faults = serve(words, *limits);
  return faults ? refuse(*faults) : end_stopped();
}

} // namespace

void add_serve_command(CLI::App& app, Command& chosen) {
  CLI::App* command = add_command(
      app, "serve", "A page in the browser: drop a program, see the report, keep the results.",
      "  snagmap serve                       results in out/; open the address it prints\n"
      "  snagmap serve jobs --at-once 1      one job after the other\n"
      "  snagmap serve --listen 192.168.1.20 --port 8100     for others in a network you trust\n");
  auto words = std::make_shared<Words>();
  command->add_option("FOLDER", words->folder,
                      "Folder of the results (default out); its earlier ones are listed");
  command
      ->add_option("--listen", words->listen,
                   "Address to listen at, in digits (default 127.0.0.1: this machine alone)")
      ->type_name("ADDRESS");
  command->add_option("--port", words->port, "Port (default: any that is free)")->check(CLI::Range(0, 65535));
  command->add_option("--at-once", words->at_once, "Jobs that run at once (default: by cores and memory)")
      ->check(CLI::Range(1, 64));
  command
      ->add_option("--memory", words->memory_bytes,
                   "Most memory of a job, such as \"2 GB\" (default: its share of what is free)")
      ->transform(CLI::AsSizeValue(true));
  command->add_option("--time", words->time, "Most time of a job (default \"60 min\")");
  command->callback([words, &chosen] { chosen = [words] { return run_serve(*words); }; });
}

} // namespace snagmap
