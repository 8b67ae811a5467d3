// `snagmap narrowest`: the narrowest web that holds, by foam, flute length and depth.
#include "viz/cli/command_line.hpp"

#include "models/base/plain_text.hpp"
#include "models/base/quantity.hpp"
#include "sim/scene/named_cards.hpp"
#include "sim/scene/scene.hpp"
#include "sim/study/narrowest.hpp"
#include "viz/cli/finish.hpp"
#include "viz/files/mesh_file.hpp"
#include "viz/files/output_folder.hpp"
#include "viz/pictures/pictures.hpp"
#include "viz/terminal/stop.hpp"
#include "viz/terminal/style.hpp"
#include "viz/words/shown.hpp"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fmt/format.h>
#include <memory>

namespace snagmap {
namespace {

struct Words {
  std::string scene, out, diameter, length, pass, ends = "free";
  std::vector<std::string> foams, flutes, depths;
  bool csv = false, inch = false;
};

std::optional<double> length_of(const char* option, const std::string& text, double least, double most,
                                std::vector<Fault>& faults) {
  const Outcome<double> value = length_option(option, text, least, most);
  if (value)
    return *value;
  faults.insert(faults.end(), value.faults().begin(), value.faults().end());
  return {};
}

std::vector<double> lengths_of(const char* option, const std::vector<std::string>& texts, double least,
                               double most, std::vector<Fault>& faults) {
  std::vector<double> values;
  for (const std::string& text : texts)
    if (const auto value = length_of(option, text, least, most, faults))
      values.push_back(*value);
  std::sort(values.begin(), values.end());
  values.erase(std::unique(values.begin(), values.end()), values.end());
  return values;
}

/// What the scene lends, then what the options say; without either: four foams and six flute lengths.
Outcome<NarrowestSpec> spec_of(Words& words) {
  NarrowestSpec spec;
  std::vector<Fault> faults;
  spec.flute_lengths_mm = {6.35, 10, 15, 22, 30, 40};
  spec.depths_mm = {25};
  if (!words.scene.empty()) {
    const Outcome<Scene> scene = read_scene(words.scene, stock_readers());
    if (!scene)
      return scene.faults();
    words.inch = words.inch || scene->show_inch;
    spec.foams = {scene->main_foam()};
    spec.diameter_mm = scene->cutters.front().diameter_mm;
    spec.rigid_floor = scene->rigid_floor;
    for (const auto* cards : {&scene->cutters, &scene->drawer})
      for (const CutterCard& card : *cards)
        spec.flute_lengths_mm.push_back(card.flute_length_mm);
    std::sort(spec.flute_lengths_mm.begin(), spec.flute_lengths_mm.end());
    spec.flute_lengths_mm.erase(std::unique(spec.flute_lengths_mm.begin(), spec.flute_lengths_mm.end()),
                                spec.flute_lengths_mm.end());
  }
  for (const std::string& name : words.foams) {
    const Outcome<FoamCard> card = foam_named(name, "--foam");
    if (card)
      spec.foams.push_back(*card);
    else
      faults.insert(faults.end(), card.faults().begin(), card.faults().end());
  }
  for (const FoamCard& card : foam_cards())
    if (words.foams.empty() && spec.foams.size() < 4 &&
        std::none_of(spec.foams.begin(), spec.foams.end(),
                     [&](const FoamCard& f) { return f.name == card.name; }))
      spec.foams.push_back(card);
  if (!words.flutes.empty())
    spec.flute_lengths_mm = lengths_of("--flutes", words.flutes, 1, 200, faults);
  if (!words.depths.empty())
    spec.depths_mm = lengths_of("--depth", words.depths, 2, 200, faults);
  if (!words.diameter.empty())
    spec.diameter_mm = length_of("--diameter", words.diameter, 0.5, 60, faults).value_or(spec.diameter_mm);
  spec.pass_mm = spec.diameter_mm;
  if (!words.pass.empty())
    spec.pass_mm = length_of("--pass", words.pass, 0.1, 200, faults).value_or(spec.pass_mm);
  if (!words.length.empty())
    spec.length_mm = length_of("--length", words.length, 5, 5000, faults).value_or(spec.length_mm);
  spec.ends = words.ends == "free" ? WebEnd::free : WebEnd::built_in;
  if (!faults.empty())
    return faults;
  return spec;
}

std::string width_text(double w_mm, bool inch) {
  if (!std::isfinite(w_mm))
    return "> " +
           fmt::format("{:.{}f}", shown_value(kThickestAsked_mm, Dimension::length, inch), inch ? 2 : 0);
  if (w_mm == 0)
    return "< " +
           fmt::format("{:.{}f}", shown_value(kThinnestAsked_mm, Dimension::length, inch), inch ? 3 : 1);
  return fmt::format("{:.{}f}", shown_value(w_mm, Dimension::length, inch), inch ? 3 : 1);
}

/// A line for each foam and depth, a column for each flute length: the width and its band.
std::string table_text(const NarrowestTable& table, bool inch) {
  const std::size_t lengths = table.spec.flute_lengths_mm.size();
  std::vector<std::vector<std::string>> rows{{"foam", "depth"}};
  for (const double flutes : table.spec.flute_lengths_mm)
    rows[0].push_back(
        "flutes " +
        fmt::format("{:g}", std::round(1000 * shown_value(flutes, Dimension::length, inch)) / 1000));
  for (std::size_t first = 0; first < table.rows.size(); first += lengths) {
    const NarrowestRow& head = table.rows[first];
    rows.push_back(
        {table.spec.foams[head.foam].name,
         fmt::format("{:g}", std::round(1000 * shown_value(head.depth_mm, Dimension::length, inch)) / 1000)});
    for (std::size_t k = 0; k < lengths; ++k) {
      const NarrowestRow& row = table.rows[first + k];
      rows.back().push_back(fmt::format("{} ({} - {})", width_text(row.w_mm, inch),
                                        width_text(row.w_low_mm, inch), width_text(row.w_high_mm, inch)));
    }
  }
  std::vector<bool> right(rows[0].size(), true);
  right[0] = false;
  return fmt::format("Narrowest web that holds (S = 1), {}: width and its band; webs {:g} long, ends {}, "
                     "cutter {:g}, passes {:g} deep\n",
                     shown_unit(Dimension::length, inch),
                     shown_value(table.spec.length_mm, Dimension::length, inch), to_text(table.spec.ends),
                     shown_value(table.spec.diameter_mm, Dimension::length, inch),
                     shown_value(table.spec.pass_mm, Dimension::length, inch)) +
         aligned(rows, right);
}

int run_narrowest(Words words) {
  const Outcome<NarrowestSpec> spec = spec_of(words);
  if (!spec)
    return refuse(spec.faults());
  std::optional<OutputFolder> folder;
  if (!words.out.empty()) {
    Outcome<OutputFolder> begun = OutputFolder::begin(words.out, {"narrowest"});
    if (!begun)
      return refuse(begun.faults());
    folder.emplace(std::move(*begun));
  }
  const NarrowestTable table = narrowest_table(*spec, [] { return !stop_asked(); });
  if (table.stopped || stop_asked())
    return end_stopped();
  fmt::print("{}", words.csv ? narrowest_csv(table) : table_text(table, words.inch));
  if (folder) {
    std::fflush(stdout);
    if (const auto fault = folder->write("narrowest.csv", narrowest_csv(table))) {
      print_faults({*fault});
      return kProgramFailed;
    }
    const auto draw = [&] {
      return write_width_chart(width_chart(table, words.inch), (folder->path() / "narrowest.png").string(),
                               {});
    };
    if (const int status = draw_or_say(draw))
      return status;
    return put_in_place(*folder);
  }
  return kNothingFound;
}

} // namespace

void add_narrowest_command(CLI::App& app, Command& chosen) {
  CLI::App* command =
      add_command(app, "narrowest", "The narrowest web that holds, by foam, flute length and depth.",
                  "  snagmap narrowest                                    four foams, six flute lengths\n"
                  "  snagmap narrowest scene.toml --depth \"20 mm\" --depth \"30 mm\" --out out/narrowest\n"
                  "  snagmap narrowest --foam pu-22 --flutes \"22 mm\" --csv\n");
  auto words = std::make_shared<Words>();
  command->add_option("SCENE", words->scene, "Scene (.toml) whose foam, cutters and drawer are asked about");
  command->add_option("--foam", words->foams, "Foam card, or an own card's file; again for more")
      ->take_all()
      ->expected(1);
  command->add_option("--flutes", words->flutes, "Flute length; again for more")->take_all()->expected(1);
  command->add_option("--depth", words->depths, "Depth of the pockets (default 25 mm); again for more")
      ->take_all()
      ->expected(1);
  command->add_option("--diameter", words->diameter, "Cutter diameter (default the scene's, or 6.35 mm)");
  command->add_option("--pass", words->pass, "Depth of a pass (default the cutter's diameter)");
  command->add_option("--length", words->length, "Length of the webs (default 100 mm)");
  command->add_option("--ends", words->ends, "Ends of the webs: free or built-in")
      ->check(CLI::IsMember({"free", "built-in"}));
  command->add_flag("--csv", words->csv, "CSV on stdout, always mm");
  command->add_flag("--inch", words->inch, "The table and chart in inches");
  command->add_option("--out", words->out, "Folder for narrowest.csv and the chart as SVG and PNG");
  command->callback([words, &chosen] { chosen = [words] { return run_narrowest(*words); }; });
}

} // namespace snagmap
