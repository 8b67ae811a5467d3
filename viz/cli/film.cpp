// `snagmap film`: the job as a film.
#include "viz/cli/command_line.hpp"

#include "models/base/plain_text.hpp"
#include "viz/cli/finish.hpp"
#include "viz/cli/job_scene.hpp"
#include "viz/cli/shown_preview.hpp"
#include "viz/draw/apart.hpp"
#include "viz/draw/off_screen.hpp"
#include "viz/film/film.hpp"
#include "viz/terminal/stop.hpp"

#include <CLI/CLI.hpp>
#include <atomic>
#include <filesystem>
#include <fmt/format.h>
#include <memory>
#include <new>
#include <sys/mman.h>
#include <tuple>

namespace snagmap {
namespace {

namespace fs = std::filesystem;

struct Words {
  std::string file, foam, out, from, to, size;
  std::vector<std::string> cutters;
  double speed = 0;
  int web = -1;
};

Outcome<FilmAsked> asked_of(const Words& words) {
  FilmAsked asked;
  asked.speed = words.speed, asked.web = words.web;
  for (const auto& [option, word, into] :
       {std::tuple{"--from", &words.from, &asked.from_s}, {"--to", &words.to, &asked.to_s}}) {
    if (word->empty())
      continue;
    const Outcome<double> seconds = parse_clock(*word);
    if (!seconds)
      return option_fault(std::string(option) + ": " + seconds.faults().front().what,
                          seconds.faults().front().way_out);
    *into = *seconds;
  }
  if (words.size.empty())
    return asked;
  const std::size_t at = words.size.find('x');
  const auto side = [&](const std::string& text) {
    return text.size() < 5 && !text.empty() && text.find_first_not_of("0123456789") == std::string::npos
               ? std::stoi(text)
               : 0;
  };
  asked.width = side(words.size.substr(0, at)),
  asked.height = at == std::string::npos ? 0 : side(words.size.substr(at + 1));
  if (asked.width < 320 || asked.height < 240 || asked.width > 3840 || asked.height > 2160 ||
      asked.width % 2 || asked.height % 2)
    return option_fault("--size \"" + words.size + "\" is no size of a film",
                        "even numbers, such as 1280x720; 320x240 to 3840x2160");
  return asked;
}

/// Frames drawn so far, seen by the process that waits for the one that draws.
struct Shared {
  Shared()
      : at(mmap(nullptr, sizeof(std::atomic<int>), PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1,
                0)) {
    if (at == MAP_FAILED)
      throw std::bad_alloc();
    frames = new (at) std::atomic<int>(0);
  }
  ~Shared() { munmap(at, sizeof(std::atomic<int>)); }
  Shared(const Shared&) = delete;
  Shared& operator=(const Shared&) = delete;
  void* at;
  std::atomic<int>* frames;
};

int make_film(const Preview& found, const FilmPlan& plan, OutputFolder& folder, ProgressBar& bar) {
  const std::string path = folder.path().string();
  Shared shared;
  const DrawnApart drawn = draw_apart(
      [&](const DrawnFile& finished) -> std::optional<Fault> {
        if (auto no_display = ensure_off_screen())
          return no_display;
        Outcome<Encoder> encoder = Encoder::start(path, plan.width, plan.height, kFilmRate);
        if (!encoder)
          return encoder.faults().front();
        if (auto fault = draw_film(
                found, plan, [&](const Pixels& frame) { return encoder->add(frame); },
                [&](int frames) {
                  shared.frames->store(frames);
                  finished("frame"); // it lives
                  return true;
                }))
          return fault;
        return encoder->finish();
      },
      [&] { return bar("frames", static_cast<double>(shared.frames->load()) / plan.frames()); });
  bar.clear();
  if (drawn.stopped || stop_asked())
    return end_stopped();
  if (drawn.fault) {
    print_faults({*drawn.fault});
    return kProgramFailed;
  }
  return put_in_place(folder, "Film");
}

int run_film(const Words& words) {
  const Outcome<FilmAsked> asked = asked_of(words);
  if (!asked)
    return refuse(asked.faults());
  if (const auto ffmpeg = find_ffmpeg(); !ffmpeg)
    return refuse(ffmpeg.faults());
  const fs::path file(words.file);
  const fs::path full = fs::weakly_canonical(file); // "out/case/" is named case too
  const fs::path own = file.stem() == "scene"   ? full.parent_path().filename()
                       : fs::is_directory(file) ? full.filename()
                                                : file.stem();
  const Outcome<ShownJob> job = shown_job(words.file, words.foam, words.cutters);
  if (!job)
    return refuse(job.faults());
  Outcome<OutputFolder> folder = OutputFolder::begin(
      words.out.empty() ? (fs::path("out") / (own.string() + "-film")).string() : words.out, {"film"});
  if (!folder)
    return refuse(folder.faults());
  ProgressBar bar(false);
  const Outcome<Preview> found = preview_to_show(*job, bar);
  if (stop_asked())
    return end_stopped();
  if (!found)
    return refuse(found.faults());
  const Outcome<FilmPlan> plan = plan_film(*found, *asked);
  if (!plan)
    return refuse(plan.faults());
  return make_film(*found, *plan, *folder, bar);
}

} // namespace

void add_film_command(CLI::App& app, Command& chosen) {
  CLI::App* command =
      add_command(app, "film", "The job as a film: MP4, WebM, and GIF for slides.",
                  "  snagmap film scene.toml                             the whole job in 20 seconds\n"
                  "  snagmap film out/case --web 7                       the seconds round a web\n"
                  "  snagmap film scene.toml --from 3:10 --to 3:20 --speed 0.5\n");
  auto words = std::make_shared<Words>();
  command
      ->add_option("RESULT", words->file,
                   "Result folder, a scene (.toml), or an NC program with --foam and --cutter")
      ->required();
  add_job_options(*command, words->foam, words->cutters);
  command->add_option("--web", words->web, "The seconds round this web's worst spot, seen from near")
      ->check(CLI::Range(0, 1'000'000));
  command->add_option("--from", words->from, "Program time, such as 3:10");
  command->add_option("--to", words->to, "Program time");
  command
      ->add_option("--speed", words->speed,
                   "Program seconds in a second of film (default: 20 s in all; 1 with --web)")
      ->check(CLI::Range(0.01, 10000.0));
  command->add_option("--size", words->size, "Pixels (default 1280x720)");
  command->add_option("--out", words->out, "Folder of the films (default out/NAME-film)");
  command->callback([words, &chosen] { chosen = [words] { return run_film(*words); }; });
}

} // namespace snagmap
