// `snagmap preview`: the main job.
#include "viz/cli/command_line.hpp"

#include "models/base/plain_text.hpp"
#include "models/base/quantity.hpp"
#include "sim/preview/memory_need.hpp"
#include "sim/results/results.hpp"
#include "sim/scene/sections.hpp"
#include "viz/cli/advised.hpp"
#include "viz/cli/finish.hpp"
#include "viz/cli/job_scene.hpp"
#include "viz/cli/preview_result.hpp"
#include "viz/pictures/pictures.hpp"
#include "viz/terminal/lists.hpp"
#include "viz/terminal/page.hpp"
#include "viz/terminal/progress.hpp"
#include "viz/terminal/stop.hpp"
#include "viz/terminal/style.hpp"
#include "viz/words/sentences.hpp"

#include <CLI/CLI.hpp>
#include <cstdio>
#include <filesystem>
#include <fmt/format.h>
#include <memory>
#include <unistd.h>

namespace snagmap {
namespace {

namespace fs = std::filesystem;

struct Words {
  std::vector<std::string> cutters;
  std::string file, foam, out, voxel, alarm = "snags", verify, size, background, stop_strand, stop_within;
  bool quick = false, cautious = false, json = false, no_pictures = false, advise = false,
       keep_record = false, write_stops = false, volume = false, full = false, quiet = false;
  int threads = 0;
  std::uint64_t memory_bytes = 0; // 0: what is free
};

/// The options as the pipeline wants them; faults name the option.
Outcome<PreviewOptions> options_of(const Words& words) {
  PreviewOptions options;
  options.memory_limit_bytes = words.memory_bytes > 0 ? words.memory_bytes : free_memory_bytes();
  if (words.quick)
    options.verify =
        SolveChoice::none(); // the voxel stays: a coarser one saves a tenth of the time and changes findings
  if (!words.voxel.empty()) {
    const Outcome<double> voxel = length_option("--voxel", words.voxel, 0.05, 5);
    if (!voxel)
      return voxel.faults();
    options.voxel_mm = *voxel;
  }
  if (words.verify == "all")
    options.verify = SolveChoice::all();
  else if (words.verify == "none")
    options.verify = SolveChoice::none();
  else if (!words.verify.empty())
    options.verify = SolveChoice::worst(std::stoul(words.verify)); // digits: checked when parsed
  return options;
}

/// One limit of the plan of stops, from an option over the scene's.
std::optional<Fault> set_limit(const char* option, const std::string& word, Range range, double& limit) {
  if (word.empty())
    return {};
  const Outcome<double> value = parse_quantity(word, range.dimension);
  if (!value)
    return Fault(fmt::format("{}: {}", option, value.faults().front().what), value.faults().front().way_out);
  if (*value < range.low || *value > range.high)
    return Fault(fmt::format("{} \"{}\" is out of range", option, word),
                 fmt::format("allowed: {} to {}", with_unit(range.low, range.dimension),
                             with_unit(range.high, range.dimension)));
  limit = *value;
  return {};
}

Alarm alarm_of(const Words& words) {
  const Level levels[] = {Level::leans, Level::snags, Level::tears};
  for (const Level level : levels)
    if (words.alarm == to_text(level))
      return {level, words.cautious};
  return {Level::snags, words.cautious};
}

/// What the words ask for, read and checked.
struct Asked {
  Scene scene;
  PreviewOptions options;
  PictureOptions drawn_as;
};
Outcome<Asked> asked_by(const Words& words) {
  Outcome<Scene> scene = asked_scene(words.file, words.foam, words.cutters);
  if (!scene)
    return scene.faults();
  for (const auto& fault :
       {set_limit("--stop-strand", words.stop_strand, kStopStrandRange, scene->stops.strand_mm),
        set_limit("--stop-within", words.stop_within, kStopWithinRange, scene->stops.within_s)})
    if (fault)
      return *fault;
  const Outcome<PreviewOptions> options = options_of(words);
  if (!options)
    return options.faults();
  const Outcome<PictureOptions> drawn_as = picture_options(words.size, words.background);
  if (!drawn_as)
    return drawn_as.faults();
  return Asked{std::move(*scene), *options, *drawn_as};
}

/// The folder of the result: `--out`, else out/ with the scene's folder or the program's name.
Outcome<OutputFolder> folder_of(const Words& words) {
  const fs::path file(words.file);
  const fs::path own = file.stem() == "scene" ? fs::absolute(file).parent_path().filename() : file.stem();
  const fs::path usual = fs::path("out") / (words.quick ? own.string() + "-quick" : own.string());
  return OutputFolder::begin(words.out.empty() ? usual.string() : words.out,
                             words.quick ? OutputKind{"preview --quick"}
                                         : OutputKind{"preview", {"preview --quick"}});
}

/// The preview, and what would help it. The levers are judged by the formula; the job itself is verified
/// afterwards.
Outcome<Preview> previewed(const Asked& asked, bool advise, bool quiet, ProgressBar& bar) {
  PreviewOptions first = asked.options;
  if (advise)
    first.verify = SolveChoice::none();
  Outcome<Preview> found = preview(asked.scene, first);
  bar.clear();
  if (!found || !advise || stop_asked())
    return found;
  found = advised(std::move(*found), asked.options, bar, quiet);
  bar.clear();
  return found;
}

int run_preview(const Words& words) {
  Outcome<Asked> asked = asked_by(words);
  if (!asked)
    return refuse(asked.faults());
  std::optional<OutputFolder> folder;
  if (!words.json || !words.out.empty()) {
    Outcome<OutputFolder> begun = folder_of(words);
    if (!begun)
      return refuse(begun.faults());
    folder.emplace(std::move(*begun));
  }

  const auto threads = limit_threads(words.threads);
  const bool quiet = words.json || words.quiet;
  ProgressBar bar(quiet);
  asked->options.progress = [&bar](const std::string& stage, double share) { return bar(stage, share); };
  Outcome<Preview> found = previewed(*asked, words.advise, quiet, bar);
  if (stop_asked())
    return end_stopped();
  if (!found)
    return refuse(found.faults());

  const Alarm alarm = alarm_of(words);
  const TerminalStyle style{wants_colour(STDOUT_FILENO), terminal_columns(STDOUT_FILENO)};
  found->answer = std::make_shared<const JobAnswer>(answer_of(*found));
  if (words.json) {
    const ShownSentences say(Shown{found->scene.show_inch});
    fmt::print("{}", result_json(*found, &say));
  } else if (!words.quiet) {
    fmt::print("{}", terminal_page(*found, *found->answer, alarm, style));
    if (words.full)
      fmt::print("{}", full_text(*found, *found->answer, style));
    std::fflush(stdout); // before any picture is drawn
  }
  if (folder) {
    const ResultWanted wanted{words.quick,       words.no_pictures, words.volume,
                              words.keep_record, words.write_stops, asked->drawn_as};
    const auto fault = write_result(*found, *folder, wanted, bar);
    if (stop_asked())
      return end_stopped();
    if (fault) {
      print_faults({*fault});
      return kProgramFailed;
    }
    if (put_in_place(*folder, words.quiet ? "" : "Results") != kNothingFound)
      return kProgramFailed;
  }
  if (!words.json)
    fmt::print("{}", words.quiet ? headline(*found, *found->answer, alarm) + "\n"
                                 : last_lines(*found, *found->answer, alarm, style));
  return alarms(*found, alarm) ? kStopTheJob : kNothingFound;
}

} // namespace

void add_preview_command(CLI::App& app, Command& chosen) {
  CLI::App* command = add_command(
      app, "preview", "Preview the job: which webs snag, where, when, and why.",
      "  snagmap preview scene.toml\n"
      "  snagmap preview scene.toml --quick                   seconds: by the formula, no pictures\n"
      "  snagmap preview part.nc --foam pu-22 --cutter CARD   sheet from the program's extents\n"
      "  snagmap preview scene.toml --advise                  tries what would help, minutes\n"
      "  snagmap preview scene.toml --json | jq '.spots[0]'   data only\n");
  auto words = std::make_shared<Words>();
  command->add_option("FILE", words->file, "Scene (.toml), or an NC program with --foam and --cutter")
      ->required();
  add_job_options(*command, words->foam, words->cutters);
  command->add_option(
      "--out", words->out,
      "Folder of the result (default out/NAME, with --quick out/NAME-quick); an old result there is "
      "replaced, what is not snagmap's or was changed is not");
  command->add_flag("--quick", words->quick,
                    "No finite elements, no pictures, no surfaces; the findings stay");
  command->add_option("--voxel", words->voxel, "Voxel size with unit, such as \"0.5 mm\"");
  command->add_option("--alarm", words->alarm, "Level from which the exit status is 3 (default snags)")
      ->check(CLI::IsMember({"leans", "snags", "tears"}));
  command->add_flag("--cautious", words->cautious,
                    "Judge by the upper end of the band instead of the nominal S");
  command
      ->add_option(
          "--verify", words->verify,
          "Spots to solve with 3D finite elements: all, none or how many (default: all that could matter)")
      ->check([](const std::string& word) {
        const bool digits =
            !word.empty() && word.size() < 6 && word.find_first_not_of("0123456789") == std::string::npos;
        return digits || word == "all" || word == "none" ? std::string()
                                                         : "\"" + word + "\" is not all, none or a number";
      });
  command->add_flag("--json", words->json, "result.json on stdout; a folder only with --out");
  command
      ->add_option("--threads", words->threads,
                   "Threads (default: all cores); the result is the same on any number")
      ->check(CLI::Range(1, 1024));
  command->add_option("--size", words->size,
                      "Pixels of a picture (default 1600x1000; 1600x1200 prints as 4:3)");
  command->add_option("--background", words->background,
                      "Colour behind the pictures, light (default #ffffff)");
  command->add_flag("--advise", words->advise,
                    "Try what would help: cutters of the drawer, passes, order, lifts, tape ...");
  command
      ->add_option(
          "--memory", words->memory_bytes,
          "Most memory to take, such as \"2 GB\" (default: what is free); what would not fit is refused "
          "beforehand")
      ->transform(CLI::AsSizeValue(true))
      ->transform(CLI::Validator( // before the other, to which a minus is a very large number
          [](std::string& word) {
            return word.find('-') == std::string::npos ? "" : "less than nothing: " + word;
          },
          ""));
  command->add_option(
      "--stop-strand", words->stop_strand,
      "Run without a break whose strand a stop should clear, such as \"150 mm\"; half of it in a "
      "slot (default: the scene's)");
  command->add_option(
      "--stop-within", words->stop_within,
      "How long that may wait, such as \"5 min\"; \"0 s\": a stop, lifted, wherever a strand gets "
      "that long (default: the scene's)");
  command->add_flag("--write-stops", words->write_stops,
                    "Write the program with the stops put in, with-stops.nc");
  command->add_flag("--volume", words->volume,
                    "Write record.vdb for a program of over 200,000 moves too, which takes minutes");
  command->add_flag("--keep-record", words->keep_record,
                    "Keep the removal record too, so that `snagmap look` need not cut again");
  command->add_flag("--no-pictures", words->no_pictures, "No pictures");
  CLI::Option* quiet =
      command->add_flag("--quiet", words->quiet, "Print the verdict's one line and nothing else");
  command
      ->add_flag("--full", words->full, "Print all webs, findings, stops, advice, notes and assumed values")
      ->excludes(quiet);
  command->callback([words, &chosen] { chosen = [words] { return run_preview(*words); }; });
}

} // namespace snagmap
