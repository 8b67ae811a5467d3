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
#include "viz/terminal/progress.hpp"
#include "viz/terminal/stop.hpp"
#include "viz/terminal/style.hpp"
#include "viz/words/shown.hpp"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <fmt/format.h>
#include <memory>

namespace snagmap {
namespace {

namespace fs = std::filesystem;

struct Words {
  std::vector<std::string> scenes, cutters, foams, programs, passes;
  std::string out, voxel;
  bool csv = false, no_pictures = false, quick = false;
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

std::string table_text(const Comparison& comparison, bool inch, bool by_formula) {
  const auto length = [&](double mm) {
    return fmt::format("{:.{}f}", shown_value(mm, Dimension::length, inch), inch ? 3 : 2);
  };
  const std::string unit = shown_unit(Dimension::length, inch);
  std::vector<std::vector<std::string>> rows{
      {"case", "firm", "leans", "snags", "tears", "worst S", "narrowest web S", "over the first",
       "strand " + unit, "95 % " + unit, "hold", "over-cut " + unit, "left " + unit, "time"}};
  for (const ComparedCase& one : comparison.cases) {
    const JobNumbers& n = one.numbers;
    const SnagRatio& r = one.to_first;
    const bool point = r.high - r.low < 1e-9;
    rows.push_back(
        {one.name, std::to_string(n.by_level[0]), std::to_string(n.by_level[1]),
         std::to_string(n.by_level[2]), std::to_string(n.by_level[3]), snag_text(n.worst_s),
         one.seen ? band_text(one.s, one.s_low, one.s_high) : "< 0.25",
         !one.seen ? "-"
         : point   ? fmt::format("{:.3f}", r.nominal)
                   : fmt::format("{:.3f} ({:.3f}-{:.3f})", r.nominal, r.low, r.high),
         length(n.longest_run_mm), length(n.p95_run_mm),
         n.hold_known ? fmt::format("{:.2f} ({:.2f}-{:.2f})", n.hold, n.hold_low, n.hold_high) : "-",
         length(n.over_cut_mm), length(n.foam_left_mm) + (n.wall_unknown > 0 ? ", partly unknown" : ""),
         clock_text(n.time_s)});
  }
  std::vector<bool> right(rows[0].size(), true);
  right[0] = false;
  std::string text = aligned(rows, right);
  if (by_formula)
    text += "S by the formula alone: leave --quick out for what a preview says.\n";
  if (comparison.web_w_mm > 0)
    text += fmt::format("The narrowest web is the first case's, {} {} thick. Over the first: its S over the "
                        "first case's, what both share held equal; in one "
                        "foam nothing of the band is left.\n",
                        length(comparison.web_w_mm), unit);
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
                             : table_text(comparison, previews.front()->scene.show_inch, words.quick));
  std::fflush(stdout);
  std::optional<Fault> fault = folder->write("compare.csv", compare_csv(comparison));
  if (!fault)
    fault = folder->write("compare.json", compare_json(comparison));
  if (fault) {
    print_faults({*fault});
    return kProgramFailed;
  }
  const std::string file = (folder->path() / "compare.png").string();
  const auto draw = [&]() -> std::optional<Fault> {
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
    fmt::print("\n{}", cautions());
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
                      "Folder for compare.csv, compare.json and the picture (default out/compare)");
  command->add_flag("--csv", words->csv, "CSV on stdout, always mm");
  command->add_flag("--no-pictures", words->no_pictures, "No picture");
  command->add_flag("--quick", words->quick, "No finite elements: seconds, by the formula");
  command->callback([words, &chosen] { chosen = [words] { return run_compare(*words); }; });
}

} // namespace snagmap
