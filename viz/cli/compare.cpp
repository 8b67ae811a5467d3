// `snagmap compare`: the same sheet under several cutters, foams, depths or programs.
#include "viz/cli/command_line.hpp"

#include "models/base/plain_text.hpp"
#include "models/base/quantity.hpp"
#include "sim/answer/same_webs.hpp"
#include "sim/path/edit.hpp"
#include "sim/preview/memory_need.hpp"
#include "sim/scene/named_cards.hpp"
#include "sim/study/compare.hpp"
#include "sim/text/whole_file.hpp"
#include "viz/cli/finish.hpp"
#include "viz/draw/off_screen.hpp"
#include "viz/draw/raster.hpp"
#include "viz/files/mesh_file.hpp"
#include "viz/files/output_folder.hpp"
#include "viz/pictures/side_by_side.hpp"
#include "viz/pictures/web_chart.hpp"
#include "viz/terminal/progress.hpp"
#include "viz/terminal/stop.hpp"
#include "viz/terminal/style.hpp"
#include "viz/words/clock.hpp"
#include "viz/words/shown.hpp"
#include "viz/words/wrapped.hpp"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <fmt/format.h>
#include <memory>
#include <unistd.h>

namespace snagmap {
namespace {

namespace fs = std::filesystem;

struct Words {
  std::vector<std::string> scenes, cutters, foams, programs, passes;
  std::string out, voxel;
  bool csv = false, no_pictures = false, quick = false, plain = false;
};

struct Case {
  std::string name;
  std::unique_ptr<Preview> preview;
};

/// Everything the options name, checked before the first cut.
struct Asked {
  std::vector<Scene> scenes;
  std::vector<CutterCard> cutters;
  std::vector<FoamCard> foams;
  std::vector<double> passes_mm;
  double voxel_mm = 0;
};

Outcome<Asked> asked_of(const Words& words) {
  Asked asked;
  std::vector<Fault> faults;
  for (const std::string& file : words.scenes) {
    Outcome<Scene> scene = read_scene(file, stock_readers());
    if (scene)
      asked.scenes.push_back(std::move(*scene));
    else
      faults.insert(faults.end(), scene.faults().begin(), scene.faults().end());
  }
  const auto keep = [&faults](auto card, auto& cards) {
    if (card)
      cards.push_back(*card);
    else
      faults.insert(faults.end(), card.faults().begin(), card.faults().end());
  };
  const std::vector<CutterCard> drawer =
      asked.scenes.empty() ? std::vector<CutterCard>{} : asked.scenes.front().drawer;
  for (const std::string& name : words.cutters)
    keep(cutter_named(name, "--cutter", drawer), asked.cutters);
  for (const std::string& name : words.foams)
    keep(foam_named(name, "--foam"), asked.foams);
  std::vector<double> voxel_mm;
  for (const std::string& text : words.passes)
    keep(length_option("--pass", text, 0.2, 200), asked.passes_mm);
  if (!words.voxel.empty())
    keep(length_option("--voxel", words.voxel, 0.05, 5), voxel_mm);
  if (!voxel_mm.empty())
    asked.voxel_mm = voxel_mm.front();
  for (const std::string& file : words.programs)
    if (!fs::exists(file))
      faults.push_back(option_fault("--program: no such file: " + file, ""));
  if (faults.empty() && words.scenes.size() + words.cutters.size() + words.foams.size() +
                                words.programs.size() + words.passes.size() <
                            2)
    faults.push_back(option_fault("one case alone cannot be compared",
                                  "name a second scene, or --cutter, --foam, --program or --pass"));
  if (!faults.empty())
    return faults;
  return asked;
}

/// The first scene with one thing changed, the others as they are.
Outcome<std::vector<Case>> cases_of(const Words& words, const Asked& asked, ProgressBar& bar) {
  std::vector<Case> cases;
  PreviewOptions options;
  if (words.quick)
    options.verify = SolveChoice::none();
  options.voxel_mm = asked.voxel_mm;
  options.memory_limit_bytes = free_memory_bytes();
  std::string now;
  options.progress = [&](const std::string& stage, double share) { return bar(now + ": " + stage, share); };
  std::vector<Fault> faults;
  const auto keep = [&](const std::string& name, Outcome<Preview> found) {
    if (found)
      cases.push_back({name, std::make_unique<Preview>(std::move(*found))});
    else
      faults.insert(faults.end(), found.faults().begin(), found.faults().end());
  };
  const auto base_again = [&](const std::string& name, const Scene& scene, const Path& path) {
    now = name;
    keep(name, preview_again(*cases.front().preview, scene, path, options));
  };
  for (std::size_t i = 0; i < asked.scenes.size() && faults.empty() && !stop_asked(); ++i) {
    now = asked.scenes[i].title;
    keep(now, preview(asked.scenes[i], options));
  }
  if (!faults.empty() || cases.empty()) // empty: stopped, as the caller sees
    return faults;
  const Scene first = cases.front().preview->scene;
  for (std::size_t i = 0; i < asked.cutters.size() && !stop_asked(); ++i) {
    Scene scene = first;
    scene.cutters.front() = asked.cutters[i];
    base_again("cutter " + asked.cutters[i].name, scene, cases.front().preview->path);
  }
  for (std::size_t i = 0; i < asked.foams.size() && !stop_asked(); ++i) {
    Scene scene = first;
    for (Layer& layer : scene.layers)
      layer.foam = asked.foams[i];
    base_again("foam " + asked.foams[i].name, scene, cases.front().preview->path);
  }
  for (std::size_t i = 0; i < asked.passes_mm.size() && !stop_asked(); ++i) {
    const double pass = asked.passes_mm[i];
    const auto path = with_pass_depth(cases.front().preview->path, first.sheet.high.z, pass);
    if (!path)
      return option_fault(fmt::format("--pass: the program has no pass deeper than {:g} mm", pass),
                          "name a smaller depth");
    base_again(fmt::format("passes of {:g} mm at most", pass), first, *path);
  }
  for (std::size_t i = 0; i < words.programs.size() && !stop_asked(); ++i) {
    Scene scene = first; // its sheet is settled, so both programs cut the same one
    scene.program_file = fs::absolute(words.programs[i]).lexically_normal().string();
    now = fs::path(words.programs[i]).filename().string();
    keep("program " + now, preview(scene, options));
  }
  if (!faults.empty())
    return faults;
  for (std::size_t i = 1; i < cases.size(); ++i)
    keep_numbers(*cases.front().preview, *cases[i].preview);
  return cases;
}

/// S of a web in a case: its number and band.
std::string s_words(const WebInCase& one) {
  return one.seen ? band_text(one.s, one.s_low, one.s_high) : "< 0.25";
}

std::string case_table(const Comparison& comparison, bool inch, std::size_t columns) {
  const auto length = [&](double mm) {
    return fmt::format("{:.{}f}", shown_value(mm, Dimension::length, inch), inch ? 2 : 0);
  };
  std::vector<std::vector<std::string>> rows;
  int n = 0;
  for (const ComparedCase& one : comparison.cases) {
    const JobNumbers& job = one.numbers;
    rows.push_back({std::to_string(++n), plain_text(one.name), std::to_string(job.webs_snagging),
                    snag_text(job.worst_s),
                    one.webs_shared == 0 ? "-"
                    : one.over_first_most - one.over_first_least < 5e-3
                        ? fmt::format("{:.2f}", one.over_first)
                        : fmt::format("{:.2f} ({:.2f}-{:.2f})", one.over_first, one.over_first_least,
                                      one.over_first_most),
                    length(job.longest_run_mm), job.hold_known ? fmt::format("{:.1f}", job.hold) : "-",
                    clock_text(job.time_s)});
  }
  std::string text;
  const std::string unit = shown_unit(Dimension::length, inch);
  for (const Lines& lines : fitted({{"", true, false},
                                    {"case", false, true},
                                    {"webs snag", true, false},
                                    {"worst S", true, false},
                                    {"S over 1st", true, false},
                                    {"strand " + unit, true, false},
                                    {"hold", true, false},
                                    {"time", true, false}},
                                   rows, columns))
    text += joined(lines);
  return text;
}

std::string deciding_table(const Comparison& comparison, const Shown& shown, std::size_t columns) {
  constexpr std::size_t kTold = 12;
  std::vector<TableColumn> heads{{"web", true, false}, {"thick", true, false}, {"high", true, false}};
  const std::size_t cases =
      std::min(comparison.cases.size(), columns > 100 ? std::size_t{5} : std::size_t{3});
  for (std::size_t i = 0; i < cases; ++i)
    heads.push_back({fmt::format("S in {}", i + 1), false, i + 1 == cases});
  std::vector<std::vector<std::string>> rows;
  for (const ComparedWeb& web : comparison.webs) {
    if (rows.size() == kTold)
      break;
    const auto seen =
        std::find_if(web.cases.begin(), web.cases.end(), [](const WebInCase& c) { return c.seen; });
    std::vector<std::string> row{std::to_string(web.web), shown.number(seen->w_mm, 1),
                                 shown.number(seen->h_mm, 1)};
    for (std::size_t i = 0; i < cases; ++i)
      row.push_back(s_words(web.cases[i]));
    rows.push_back(std::move(row));
  }
  std::string text;
  for (const Lines& lines : fitted(heads, rows, columns))
    text += joined(lines);
  if (comparison.webs.size() > rows.size() || comparison.cases.size() > cases)
    text += fmt::format("All {} webs in all cases: compare-webs.csv.\n", comparison.webs.size());
  return text;
}

std::string table_text(const Comparison& comparison, bool inch, bool by_formula, const TerminalStyle& style) {
  const Shown shown{inch};
  std::string text = case_table(comparison, inch, style.columns);
  text +=
      joined(wrapped_plain("S over 1st: S over the first case's on the webs that both cut and that decide, "
                           "the middle one (least-most). Hold: factor over what lifts the sheet.",
                           style));
  if (!comparison.webs.empty())
    text += "\n" +
            joined(wrapped_plain(
                fmt::format("Webs that snag, or may, in some case; lengths in {}:", shown.unit()), style)) +
            deciding_table(comparison, shown, style.columns);
  if (by_formula)
    text +=
        joined(wrapped_plain("S by the formula alone: leave --quick out for what a preview says.", style));
  return text;
}

int run_compare(const Words& words) {
  const Outcome<Asked> asked = asked_of(words);
  if (!asked)
    return refuse(asked.faults());
  Outcome<OutputFolder> folder =
      OutputFolder::begin(words.out.empty() ? "out/compare" : words.out, {"compare"});
  if (!folder)
    return refuse(folder.faults());
  ProgressBar bar(words.csv);
  const Outcome<std::vector<Case>> cases = cases_of(words, *asked, bar);
  bar.clear();
  if (stop_asked())
    return end_stopped();
  if (!cases)
    return refuse(cases.faults());
  std::vector<std::string> names;
  std::vector<const Preview*> previews;
  for (const Case& one : *cases)
    names.push_back(one.name), previews.push_back(one.preview.get());
  const Comparison comparison = compare(names, previews);
  fmt::print("{}", words.csv ? compare_csv(comparison)
                             : table_text(comparison, previews.front()->scene.show_inch, words.quick,
                                          {false, terminal_columns(STDOUT_FILENO)}));
  std::fflush(stdout);
  std::optional<Fault> fault = folder->write("compare.csv", compare_csv(comparison));
  if (!fault)
    fault = folder->write("compare-webs.csv", compared_webs_csv(comparison));
  if (!fault)
    fault = folder->write("compare.json", compare_json(comparison));
  if (fault) {
    print_faults({*fault});
    return kProgramFailed;
  }
  const std::string file = (folder->path() / "compare.png").string();
  const auto draw = [&]() -> std::optional<Fault> {
    const Shown shown{previews.front()->scene.show_inch};
    PictureOptions paper;
    paper.plain = true;
    if (words.plain)
      if (auto bad =
              write_for_paper(web_chart(comparison, shown, paper), (folder->path() / "webs-plain").string()))
        return bad;
    if (auto bad = write_drawing(web_chart(comparison, shown, {}), (folder->path() / "webs.png").string()))
      return bad;
    if (previews.size() == 2)
      return write_compare_picture(*previews[0], *previews[1], file, {});
    if (auto no_display = ensure_off_screen())
      return no_display;
    return write_whole_file(file, png_of(rasterised(side_by_side_picture(comparison, previews, {}))));
  };
  if (const int status = words.no_pictures ? kNothingFound : draw_or_say(draw))
    return status;
  if (put_in_place(*folder) != kNothingFound)
    return kProgramFailed;
  if (!words.csv)
    fmt::print("\n{}", cautions({false, terminal_columns(STDOUT_FILENO)}));
  return kNothingFound;
}

} // namespace

void add_compare_command(CLI::App& app, Command& chosen) {
  CLI::App* command = add_command(
      app, "compare", "The same sheet under several cutters, foams, depths or programs, side by side.",
      "  snagmap compare scene.toml --cutter flat-6.35-stub --foam pe-32\n"
      "  snagmap compare scene.toml --program a.nc --program b.nc --pass \"3 mm\"\n"
      "  snagmap compare long.toml stub.toml --out out/long-stub\n");
  auto words = std::make_shared<Words>();
  command->add_option("SCENE", words->scenes, "Scenes (.toml); the options below change the first")
      ->required();
  command
      ->add_option("--cutter", words->cutters,
                   "Cutter card, or one of the drawer, in place of the first cutter; again for more")
      ->take_all()
      ->expected(1);
  command
      ->add_option("--foam", words->foams,
                   "Foam card, or an own card's file, in place of the scene's; again for more")
      ->take_all()
      ->expected(1);
  command->add_option("--program", words->programs, "NC program in place of the scene's; again for more")
      ->take_all()
      ->expected(1);
  command
      ->add_option("--pass", words->passes,
                   "Greatest depth of a pass; deeper ones are parted; again for more")
      ->take_all()
      ->expected(1);
  command->add_option("--voxel", words->voxel, "Voxel size with unit");
  command->add_option("--out", words->out,
                      "Folder for the tables, compare.json and the pictures (default out/compare)");
  command->add_flag("--csv", words->csv, "CSV on stdout, always mm");
  command->add_flag("--no-pictures", words->no_pictures, "No picture");
  command->add_flag(
      "--plain", words->plain,
      "The chart web by web for a paper too: no title, frame or notes, 85 mm wide, as SVG and PDF");
  command->add_flag("--quick", words->quick, "No finite elements: seconds, by the formula");
  command->callback([words, &chosen] { chosen = [words] { return run_compare(*words); }; });
}

} // namespace snagmap
