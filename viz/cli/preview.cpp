// `snagmap preview`: the main job.
#include "viz/cli/command_line.hpp"

#include "models/base/plain_text.hpp"
#include "models/base/quantity.hpp"
#include "sim/advice/advice.hpp"
#include "sim/preview/memory_need.hpp"
#include "sim/preview/preview.hpp"
#include "sim/preview/stops_program.hpp"
#include "sim/probe/vdb.hpp"
#include "sim/record/file.hpp"
#include "sim/results/results.hpp"
#include "sim/scene/sections.hpp"
#include "viz/cli/finish.hpp"
#include "viz/cli/stop.hpp"
#include "viz/cli/terminal.hpp"
#include "viz/draw/apart.hpp"
#include "viz/files/data_files.hpp"
#include "viz/files/mesh_file.hpp"
#include "viz/files/output_folder.hpp"
#include "viz/pictures/pictures.hpp"
#include "viz/report/report.hpp"
#include "viz/words/advice_words.hpp"
#include "viz/words/note_words.hpp"
#include "viz/words/run_lines.hpp"
#include "viz/words/sentences.hpp"
#include "viz/words/shown.hpp"
#include "viz/words/stop_words.hpp"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cctype>
#include <chrono>
#include <cstdio>
#include <filesystem>
#include <fmt/format.h>
#include <memory>
#include <mutex>
#include <oneapi/tbb/global_control.h>
#include <unistd.h>

namespace snagmap {
namespace {

namespace fs = std::filesystem;

struct Words {
  std::vector<std::string> cutters;
  std::string file, foam, out, voxel, alarm = "snags", verify, size, background, stop_strand, stop_within;
  bool quick = false, cautious = false, json = false, no_pictures = false, advise = false,
       keep_record = false, write_stops = false, volume = false;
  int threads = 0;
  std::uint64_t memory_bytes = 0; // 0: what is free
};

bool is_scene(const std::string& file) {
  return fs::path(file).extension() == ".toml";
}

Outcome<Scene> scene_of(const Words& words) {
  if (is_scene(words.file)) {
    for (const auto& [option, given] :
         {std::pair{"--foam", !words.foam.empty()}, {"--cutter", !words.cutters.empty()}})
      if (given)
        return Fault(fmt::format("{} stands beside a scene, which names its own", option),
                     "change the scene");
    return read_scene(words.file, stock_readers());
  }
  std::error_code error;
  if ((words.foam.empty() || words.cutters.empty()) && !fs::is_directory(words.file, error))
    return Fault("a program without a scene needs --foam and --cutter",
                 "`snagmap cards` lists both; `snagmap scene " + words.file + "` writes a scene to correct");
  return scene_of_program(words.file, words.foam, words.cutters);
}

/// The options as the pipeline wants them; faults name the option.
Outcome<PreviewOptions> options_of(const Words& words) {
  PreviewOptions options;
  options.memory_limit_bytes = words.memory_bytes > 0 ? words.memory_bytes : free_memory_bytes();
  if (words.quick)
    options.verify = 0; // the voxel stays: a coarser one saves a tenth of the time and changes findings
  if (!words.voxel.empty()) {
    const Outcome<double> voxel = length_option("--voxel", words.voxel, 0.05, 5);
    if (!voxel)
      return voxel.faults();
    options.voxel_mm = *voxel;
  }
  if (words.verify == "all")
    options.verify = -2;
  else if (words.verify == "none")
    options.verify = 0;
  else if (!words.verify.empty())
    options.verify = std::stoi(words.verify); // digits: checked when parsed
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

/// Runs one stage of the writing: shows it, and keeps its time for timing.json.
template <class Work> auto timed(Preview& found, ProgressBar& bar, const char* stage, Work work) {
  bar(stage, 0);
  const auto start = std::chrono::steady_clock::now();
  auto result = work();
  found.times.push_back(
      {stage, std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count()});
  return result;
}

/// Why pictures are missing, for the report; empty: all are there.
struct DrawnPictures {
  std::vector<std::string> files;
  std::string missing;
  std::optional<Fault> unwritten; ///< a file that could not be written: no matter of drawing
};

DrawnPictures draw_pictures(Preview& found, const std::string& folder, const Words& words,
                            const PictureOptions& drawn_as, ProgressBar& bar) {
  if (words.quick || words.no_pictures)
    return {
        {}, words.quick ? "A preview with --quick draws none" : "None were asked for (--no-pictures)", {}};
  const DrawnApart drawn = timed(found, bar, "pictures", [&] {
    return draw_apart(
        [&](const DrawnFile& finished) -> std::optional<Fault> {
          const auto files = write_pictures(found, folder, drawn_as, finished);
          return files ? std::nullopt : std::optional(files.faults().front());
        },
        [&bar] { return bar("pictures", 0); });
  });
  DrawnPictures pictures{drawn.files, "", {}};
  if (!drawn.fault)
    return pictures;
  if (!drawn.fault->file.empty()) {
    pictures.unwritten = drawn.fault;
    return pictures;
  }
  bar.clear();
  print_faults({*drawn.fault});
  constexpr std::string_view kKnown = "no pictures: "; // the report has said that
  pictures.missing = drawn.fault->what;
  if (pictures.missing.rfind(kKnown, 0) == 0)
    pictures.missing.erase(0, kKnown.size());
  if (!pictures.missing.empty())
    pictures.missing[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(pictures.missing[0])));
  return pictures;
}

constexpr std::size_t kMostForVolume = 200'000; // moves: beyond it the distances of record.vdb take minutes

bool with_volume(const Words& words, const Preview& found) {
  if (words.quick || words.volume || found.path.moves.size() <= kMostForVolume)
    return !words.quick;
  fmt::print(stderr,
             "record.vdb takes minutes for a program of {} moves and is left out; --volume writes it\n",
             found.path.moves.size());
  return false;
}

/// All files of a result, in the hidden folder: numbers and data first, so that a drawing that fails costs
/// the pictures only. A file that cannot be written is a fault, and the old result stays.
std::optional<Fault> write_result(Preview& found, const OutputFolder& folder, const Words& words,
                                  const PictureOptions& drawn_as, ProgressBar& bar) {
  const std::string path = folder.path().string(), picture_folder = (folder.path() / "pictures").string();
  const auto fault_of = [&](const auto& outcome) -> std::optional<Fault> {
    if (outcome)
      return {};
    Fault fault = outcome.faults().front();
    if (fault.file.rfind(path, 0) == 0) // the user knows the folder by its place
      fault.file = folder.place().string() + fault.file.substr(path.size());
    return fault;
  };
  const ShownSentences say(Shown{found.scene.show_inch});
  for (const auto& [name, text] :
       {std::pair<const char*, std::string>{"result.json", result_json(found, &say)},
        {"spots.csv", spots_csv(found, &say)}})
    if (auto fault = folder.write(name, text))
      return fault;
  if (const std::string& scene = found.scene.file; !scene.empty())
    if (auto fault = folder.write(kSceneFileName, fs::absolute(scene).lexically_normal().string() + "\n"))
      return fault;
  if (words.write_stops) {
    const Outcome<WrittenProgram> program = program_with_stops(found, stops_program_head(found));
    if (!program)
      return program.faults().front();
    if (auto fault = folder.write(kStopsProgramFile, program->text))
      return fault;
  }
  if (found.advice)
    for (const auto* list : {&found.advice->ranked, &found.advice->trades})
      for (const Advice& advice : *list)
        if (!advice.program_file.empty())
          if (auto fault = folder.write(advice.program_file, advised_program(advice)))
            return fault;
  if (!words.quick && !stop_asked())
    if (auto fault = fault_of(timed(found, bar, "surfaces", [&] { return write_data_files(found, path); })))
      return fault;
  if (with_volume(words, found) && !stop_asked())
    if (auto fault = fault_of(timed(found, bar, "volume",
                                    [&] { return write_record_vdb(*found.record, path + "/record.vdb"); })))
      return fault;
  if (words.keep_record && !stop_asked())
    if (auto fault = fault_of(timed(
            found, bar, "record", [&] { return save_record(*found.record, path + "/" + kRecordFileName); })))
      return fault;
  if (stop_asked())
    return {};
  const DrawnPictures pictures = draw_pictures(found, picture_folder, words, drawn_as, bar);
  if (stop_asked())
    return {};
  if (pictures.unwritten)
    return fault_of(Outcome<bool>(*pictures.unwritten));
  const std::string report = timed(found, bar, "report", [&] {
    return report_html(found, picture_folder, pictures.files, pictures.missing);
  });
  bar.clear();
  if (auto fault = folder.write("report.html", report))
    return fault;
  return folder.write("timing.json", timing_json(found));
}

void print_assumptions(const Preview& found, bool all) {
  const Shown shown{found.scene.show_inch};
  for (const Note& note : found.notes)
    fmt::print(stderr, "note: {}\n", plain_text(words_of(note, shown)));
  if (all)
    for (const Assumed& one : found.assumptions)
      fmt::print(stderr, "assumed: {}\n", plain_text(words_of(one, shown)));
  else if (!found.assumptions.empty())
    fmt::print(stderr, "{} values are assumed; result.json lists them\n", found.assumptions.size());
}

std::string advice_text(const AdviceList& list, Shown shown) {
  std::string text;
  for (const AdvicePart& part : advice_parts(list, shown)) {
    text += fmt::format("\n{}{}:\n", part.title,
                        text.empty() ? ", tried in the model (by the formula, before and after)" : "");
    for (const std::string& line : part.lines)
      text += plain_text(line) + "\n";
  }
  return text;
}

/// Tries the levers on a job without finite elements, then verifies the job. A stop tells what is ranked so
/// far.
Outcome<Preview> advised(Preview job, int verify, PreviewOptions options, ProgressBar& bar, bool quiet) {
  const Shown shown{job.scene.show_inch};
  std::mutex lock;
  AdviceList so_far;
  say_when_stopped([&]() -> std::string {
    const std::lock_guard<std::mutex> hold(lock);
    const bool any = so_far.tried() > 0;
    return any && !quiet ? advice_text(so_far, shown) : "";
  });
  AdviceOptions advising;
  advising.progress = options.progress;
  advising.head = advice_program_head;
  advising.found = [&](const AdviceList& list) {
    const std::lock_guard<std::mutex> hold(lock);
    so_far = list;
    so_far.stopped = true; // for as long as it is not the end
    bar.clear();
    if (!quiet)
      fmt::print(stderr, "advice: {} tried, {} help{}\n", list.tried(), list.ranked.size(),
                 list.ranked.empty()
                     ? ""
                     : "; so far best: " + plain_text(words_of(list.ranked.front().lever, shown)));
  };
  AdviceList list = timed(job, bar, "advice", [&] { return advise(job, advising); });
  if (stop_asked()) { // the watching thread would say it too, but later
    say_when_stopped({});
    if (!quiet)
      fmt::print("{}", advice_text(list, shown));
    std::fflush(stdout);
    return job;
  }
  options.verify = verify;
  Outcome<Preview> found = preview_again(job, job.scene, job.path, options);
  // Not finished means stopped: the caller says so.
  if (found && !timed(*found, bar, "best advice", [&] { return confirm_best(list, *found, options); }) &&
      stop_asked())
    return job;
  say_when_stopped({});
  if (found) {
    found->times.insert(found->times.begin(), job.times.begin(), job.times.end());
    found->advice = std::make_shared<const AdviceList>(list);
  }
  return found;
}

int run_preview(const Words& words) {
  Outcome<Scene> scene = scene_of(words);
  if (!scene)
    return refuse(scene.faults());
  for (const auto& fault :
       {set_limit("--stop-strand", words.stop_strand, kStopStrandRange, scene->stops.strand_mm),
        set_limit("--stop-within", words.stop_within, kStopWithinRange, scene->stops.within_s)})
    if (fault)
      return refuse({*fault});
  Outcome<PreviewOptions> options = options_of(words);
  if (!options)
    return refuse(options.faults());
  const Outcome<PictureOptions> drawn_as = picture_options(words.size, words.background);
  if (!drawn_as)
    return refuse(drawn_as.faults());

  std::optional<OutputFolder> folder;
  if (!words.json || !words.out.empty()) {
    const fs::path file(words.file);
    const fs::path own = file.stem() == "scene" ? fs::absolute(file).parent_path().filename() : file.stem();
    const fs::path usual = fs::path("out") / (words.quick ? own.string() + "-quick" : own.string());
    Outcome<OutputFolder> begun = OutputFolder::begin(
        words.out.empty() ? usual.string() : words.out,
        words.quick ? OutputKind{"preview --quick"} : OutputKind{"preview", {"preview --quick"}});
    if (!begun)
      return refuse(begun.faults());
    folder.emplace(std::move(*begun));
  }

  std::unique_ptr<tbb::global_control> threads;
  if (words.threads > 0)
    threads = std::make_unique<tbb::global_control>(tbb::global_control::max_allowed_parallelism,
                                                    static_cast<std::size_t>(words.threads));
  ProgressBar bar(words.json);
  options->progress = [&bar](const std::string& stage, double share) { return bar(stage, share); };
  const int verify = options->verify;
  if (words.advise)
    options->verify = 0; // the levers are judged by the formula; the job itself is verified afterwards
  Outcome<Preview> found = preview(*scene, *options);
  bar.clear();
  if (stop_asked())
    return end_stopped();
  if (!found)
    return refuse(found.faults());
  if (words.advise) {
    found = advised(std::move(*found), verify, *options, bar, words.json);
    bar.clear();
    if (stop_asked())
      return end_stopped();
    if (!found)
      return refuse(found.faults());
  }

  const Alarm alarm = alarm_of(words);
  if (!words.json) {
    const TerminalStyle style{wants_colour(STDOUT_FILENO)};
    fmt::print("{}\n{}{}", verdict(*found, alarm), spot_table(*found, style), finding_list(*found, style));
    for (const auto& [name, said] : run_lines(*found))
      fmt::print("{}: {}\n", name, plain_text(said));
    fmt::print("{}", stop_list(*found));
    if (found->advice)
      fmt::print("{}", advice_text(*found->advice, Shown{found->scene.show_inch}));
    std::fflush(stdout); // before any picture is drawn
    print_assumptions(*found, !is_scene(words.file));
  }
  const ShownSentences say(Shown{found->scene.show_inch});
  if (words.json)
    fmt::print("{}", result_json(*found, &say));
  if (folder) {
    const auto fault = write_result(*found, *folder, words, *drawn_as, bar);
    if (stop_asked())
      return end_stopped();
    if (fault) {
      print_faults({*fault});
      return kProgramFailed;
    }
    if (put_in_place(*folder) != kNothingFound)
      return kProgramFailed;
  }
  if (!words.json)
    fmt::print("\n{}", cautions());
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
  command->add_option(
      "--foam", words->foam,
      "Foam card, an own card's file, or a kind: polyurethane, polyethylene, eva, polystyrene");
  command
      ->add_option("--cutter", words->cutters,
                   "Cutter card for every tool, or NUMBER=CARD for each tool of the program (give it again)")
      ->allow_extra_args(false);
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
      ->add_option("--verify", words->verify, "Spots to check with 3D finite elements: all, none or how many")
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
      ->transform(CLI::AsSizeValue(true));
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
  command->callback([words, &chosen] { chosen = [words] { return run_preview(*words); }; });
}

} // namespace snagmap
