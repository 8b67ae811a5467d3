// `snagmap tooth`: what side, feed, flutes and speed do to each web.
#include "viz/cli/command_line.hpp"

#include "models/base/plain_text.hpp"
#include "models/tooth/in_time.hpp"
#include "sim/preview/memory_need.hpp"
#include "sim/preview/preview.hpp"
#include "sim/tooth/lobes.hpp"
#include "sim/tooth/tooth_table.hpp"
#include "viz/cli/finish.hpp"
#include "viz/files/mesh_file.hpp"
#include "viz/files/output_folder.hpp"
#include "viz/pictures/pictures.hpp"
#include "viz/pictures/tooth_charts.hpp"
#include "viz/terminal/progress.hpp"
#include "viz/terminal/stop.hpp"
#include "viz/terminal/style.hpp"
#include "viz/words/spot_words.hpp"
#include "viz/words/tooth_words.hpp"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <fmt/format.h>
#include <memory>
#include <unistd.h>

namespace snagmap {
namespace {

struct Words {
  std::string scene, out;
  int web = -1, threads = 0;
  bool csv = false, quick = false, no_pictures = false;
};

std::string number(double value) {
  return fmt::format("{:.3g}", value);
}

std::string table_text(const Preview& found, const std::vector<WebTooth>& answers, const Shown& shown) {
  std::vector<std::vector<std::string>> rows{
      {"web", "line", "w " + std::string(shown.unit()), "side", "S", "T", "other side", "wall is", "pull N",
       "cut " + std::string(shown.unit()), "a tooth " + std::string(shown.unit()), "teeth Hz", "f1 Hz"}};
  for (const WebTooth& a : answers) {
    const Spot& spot = found.spots[a.spot];
    const std::string turned = a.t_turned >= 99.9 ? "> 100" : fmt::format("{:.2g}", a.t_turned);
    std::vector<std::string> row{std::to_string(a.web), std::to_string(spot.program_line),
                                 shown.number(spot.question.web.w_mm), a.climb ? "climb" : "conventional",
                                 band_text(spot.answer.s, spot.answer.s_low, spot.answer.s_high)};
    if (a.answered)
      row.insert(row.end(), {tooth_band_text(a.t, a.t_low, a.t_high), turned, to_text(a.push),
                             number(a.pull_N), a.engaged_rad >= 3.14 ? "slot" : shown.number(a.width_mm),
                             shown.number(a.feed_mm, 3), number(a.tooth_Hz), fmt::format("{:.0f}", a.f1_Hz)});
    else
      row.insert(row.end(),
                 {"not known", "", a.why_not ? words_of(*a.why_not, shown) : "", "", "", "", "", ""});
    rows.push_back(std::move(row));
  }
  return aligned(rows, {true, true, true, false, true, true, true, false, true, true, true, true, true});
}

/// Sentences of one web.
std::string told(const Preview& found, const WebTooth& answer, const Shown& shown) {
  std::string text =
      "  " + tooth_words(answer, shown) + "\n  " + both_words(found.spots[answer.spot], answer) + "\n";
  if (const std::string side = side_words(answer); !side.empty())
    text += "  " + side + "\n";
  return text;
}

/// One web in time and at other speeds: what --web adds.
struct Closer {
  WebTooth tooth;
  ToothTrace trace;
  ToothLobes lobes;
};

constexpr double kMostSeconds = 2; // of a run; a longer web is the same swing going on

/// As long as the cutter needs along the web, at its real feed.
double seconds_along(const Spot& spot) {
  const double length = spot.question.web.length_mm();
  return spot.feed_mm_min > 0 && std::isfinite(length)
             ? std::min(kMostSeconds, 60 * length / spot.feed_mm_min)
             : kMostSeconds;
}

std::vector<Closer> look_closer(const Preview& found, const std::vector<WebTooth>& answers) {
  std::vector<Closer> closer;
  for (const WebTooth& answer : answers) {
    const Spot& spot = found.spots[answer.spot];
    const OrUnsolved<ToothQuestion> question = tooth_question(found, spot);
    if (!answer.answered || !question || stop_asked())
      continue;
    closer.push_back(
        {answer, run_teeth(question->web, {seconds_along(spot), 0, 0}),
         tooth_lobes(*question, answer, found.scene.cutters[std::size_t(spot.cutter)], found.scene.machine)});
  }
  return closer;
}

std::string name_of(const WebTooth& tooth) {
  return fmt::format("Web {}, cut {}", tooth.web, tooth.climb ? "climb" : "conventional");
}

std::string in_time_words(const Closer& one, const Shown& shown) {
  if (one.trace.left)
    return fmt::format(
        "  In time: it comes nearer than the cutter's radius after {:.0f} ms, past all that is modelled.\n",
        1000 * one.trace.tooth_time_s * double(one.trace.lean_mm.size()));
  const ToothSummary stated = summary_of(one.trace);
  return fmt::format(
      "  In time ({:.2g} s, from rest): mean lean {}, swing {}; wall cut {} at the foot, waves of "
      "{}.\n",
      one.trace.tooth_time_s * double(one.trace.lean_mm.size()), shown.length(stated.lean_mm, 2),
      shown.length(stated.swing_mm, 2), over_cut_words(stated.over_cut_mm, shown),
      shown.length(stated.waviness_mm, 2));
}

/// tooth-N-side.png and .svg in time, speed-N-side for the speeds.
std::optional<Fault> draw_closer(const Preview& found, const std::vector<Closer>& closer,
                                 const OutputFolder& folder, const Shown& shown) {
  for (const Closer& one : closer) {
    const std::string name = name_of(one.tooth);
    const std::string end =
        fmt::format("-{}-{}.png", one.tooth.web, one.tooth.climb ? "climb" : "conventional");
    const double feed = found.spots[one.tooth.spot].feed_mm_min;
    if (auto fault = write_drawing(tooth_time_chart(name, one.trace, feed, shown, {}),
                                   (folder.path() / ("tooth" + end)).string()))
      return fault;
    if (auto fault = write_drawing(tooth_lobe_chart(name, one.lobes, one.tooth, shown, {}),
                                   (folder.path() / ("speed" + end)).string()))
      return fault;
  }
  return {};
}

int run_tooth(const Words& words) {
  const auto threads = limit_threads(words.threads);
  const Outcome<Scene> scene = read_scene(words.scene, stock_readers());
  if (!scene)
    return refuse(scene.faults());
  std::optional<OutputFolder> folder;
  if (!words.out.empty()) {
    Outcome<OutputFolder> begun = OutputFolder::begin(words.out, {"tooth"});
    if (!begun)
      return refuse(begun.faults());
    folder.emplace(std::move(*begun));
  }
  ProgressBar bar(words.csv);
  PreviewOptions options;
  options.memory_limit_bytes = free_memory_bytes();
  options.progress = [&](const std::string& stage, double share) { return bar(stage, share); };
  if (words.quick)
    options.verify = SolveChoice::none();
  const Outcome<Preview> found = preview(*scene, options);
  if (!found || stop_asked()) {
    bar.clear();
    return refuse(found ? std::vector<Fault>{} : found.faults());
  }
  const std::optional<int> web = words.web >= 0 ? std::optional(words.web) : std::nullopt;
  if (web &&
      std::none_of(found->webs.begin(), found->webs.end(), [&](const WebFound& w) { return w.id == *web; }))
    return refuse({option_fault(
        fmt::format("--web {}: there is no such web", words.web),
        fmt::format("`snagmap tooth {}` lists all {}", plain_text(words.scene), found->webs.size()))});
  const std::vector<WebTooth> answers =
      tooth_answers(*found, tooth_spots(*found, web), [&](double share) { return bar("tooth", share); });
  std::vector<Closer> closer;
  if (web && !stop_asked())
    closer = look_closer(*found, answers);
  bar.clear();
  if (stop_asked())
    return end_stopped();
  const Shown shown{found->scene.show_inch};
  if (words.csv) {
    fmt::print("{}", tooth_csv(*found, answers));
  } else if (answers.empty()) {
    fmt::print("No web was seen beside the path, so there is none to ask about.\n");
  } else {
    fmt::print("{}", table_text(*found, answers, shown));
    for (const WebTooth& answer : answers)
      if (web || !side_words(answer).empty())
        fmt::print("web {}\n{}", answer.web, told(*found, answer, shown));
    for (const Closer& one : closer)
      fmt::print("{}\n{}", name_of(one.tooth), in_time_words(one, shown));
    fmt::print("{}", two_numbers_words());
  }
  if (folder) {
    std::fflush(stdout);
    if (const auto fault = folder->write("tooth.csv", tooth_csv(*found, answers))) {
      print_faults({*fault});
      return kProgramFailed;
    }
    if (!closer.empty() && !words.no_pictures)
      if (const int status = draw_or_say([&] { return draw_closer(*found, closer, *folder, shown); }))
        return status;
    if (put_in_place(*folder) != kNothingFound)
      return kProgramFailed;
  }
  if (!words.csv)
    fmt::print("\n{}", cautions({false, terminal_columns(STDOUT_FILENO)}));
  return kNothingFound;
}

} // namespace

void add_tooth_command(CLI::App& app, Command& chosen) {
  CLI::App* command = add_command(
      app, "tooth",
      "What side, feed, flutes, width of cut and speed do to each web: the tooth number T beside S.",
      "  snagmap tooth scene.toml                     every web, on each side it is cut from\n"
      "  snagmap tooth scene.toml --web 7             one web, in words, in time and at other speeds\n"
      "  snagmap tooth scene.toml --out out/tooth     the table as tooth.csv\n");
  auto words = std::make_shared<Words>();
  command->add_option("SCENE", words->scene, "Scene (.toml)")->required();
  command->add_option("--web", words->web, "Number of one web, as the table has it")
      ->check(CLI::NonNegativeNumber);
  command->add_option("--out", words->out, "Folder for tooth.csv, with --web for the charts too");
  command->add_flag("--no-pictures", words->no_pictures, "No charts");
  command->add_flag("--csv", words->csv, "CSV on stdout, always mm");
  command->add_flag("--quick", words->quick,
                    "S by the formula; the modes are of finite elements just the same");
  command
      ->add_option("--threads", words->threads,
                   "Threads (default: all cores); the result is the same on any number")
      ->check(CLI::Range(1, 1024));
  command->callback([words, &chosen] { chosen = [words] { return run_tooth(*words); }; });
}

} // namespace snagmap
