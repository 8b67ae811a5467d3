// Scenes made from a program: a starter for the user to correct, and one of assumptions only.
#include "sim/path/moves.hpp"
#include "sim/scene/card_text.hpp"
#include "sim/scene/everyday.hpp"
#include "sim/scene/named_cards.hpp"
#include "sim/scene/scene.hpp"
#include "sim/text/table.hpp"
#include "sim/text/whole_file.hpp"

#include <algorithm>
#include <filesystem>
#include <fmt/format.h>
#include <set>

namespace snagmap {
namespace {

/// Of a kind the softest card, the catalogue's first; other words as they are.
std::string card_of_kind(const std::string& word) {
  for (const FoamCard& card : foam_cards())
    if (to_text(card.kind) == word)
      return card.name;
  return word;
}

/// "2=flat-6.35-stub" gives tool 2 this card, "flat-6.35-stub" every tool.
struct ToolWord {
  std::optional<int> number;
  std::string card;
};
ToolWord tool_word(const std::string& word) {
  const std::size_t equals = word.find('=');
  if (equals == 0 || equals == std::string::npos || equals > 6 ||
      word.find_first_not_of("0123456789") != equals)
    return {{}, word};
  return {std::stoi(word.substr(0, equals)), word.substr(equals + 1)};
}

/// The scene's words for the cutters; faults where they contradict each other.
std::string cutter_lines(const std::vector<std::string>& words, std::vector<Fault>& faults) {
  std::string text;
  std::set<int> numbers;
  for (const std::string& word : words) {
    ToolWord tool = tool_word(word);
    if (const auto read = cutter_named(tool.card, "--cutter"); !read)
      faults.insert(faults.end(), read.faults().begin(), read.faults().end());
    else
      tool.card = read->name; // of a size the card's
    if (!tool.number && words.size() > 1)
      faults.push_back(Fault(fmt::format("--cutter \"{}\" among several names no tool", word),
                             "give each its tool number: --cutter 1=CARD --cutter 2=CARD"));
    else if (tool.number && !numbers.insert(*tool.number).second)
      faults.push_back(
          Fault(fmt::format("--cutter: tool {} twice", *tool.number), "give each tool one card"));
    text += tool.number
                ? fmt::format("[[tool]]\nnumber = {}\ncutter = {}\n", *tool.number, toml_text(tool.card))
                : fmt::format("cutter = {}\n", toml_text(tool.card));
  }
  return text;
}

} // namespace

Outcome<Scene> scene_of_program(const std::string& program_file, const std::string& foam,
                                const std::vector<std::string>& cutters) {
  std::vector<Fault> faults;
  if (std::optional<Fault> fault =
          no_plain_file(program_file, "give the path of an NC program or of a scene (.toml)"))
    faults.push_back(std::move(*fault));
  const std::string everyday = foam_card_for(foam), card = card_of_kind(everyday);
  if (const auto read = foam_named(card, "--foam"); !read)
    faults.insert(faults.end(), read.faults().begin(), read.faults().end());
  const std::string tools = cutter_lines(cutters, faults);
  if (!faults.empty())
    return faults;
  auto scene =
      parse_scene(fmt::format("program = {}\nfoam = {}\n{}", toml_text(program_file), toml_text(card), tools),
                  program_file, "");
  if (scene && everyday != foam)
    scene->assumed.push_back(
        {"", "", "foam", '"' + card + '"', {}, why::Source{"what goes by the name " + foam}});
  else if (scene && card != foam)
    scene->assumed.push_back(
        {"", "", "foam", '"' + card + '"', {}, why::Source{"the softest card of the kind " + foam}});
  return scene;
}

std::string starter_scene(const std::string& program_file, const Path& path,
                          const std::vector<std::string>& notes) {
  const Box3 cut = feed_extents(path).value_or(Box3{});
  const double border = cutter_cards().front().diameter_mm / 2 + kGuessedBorder_mm;
  const Vec3 corner = cut.low - Vec3{border, border, 0};
  const Vec3 size{cut.high.x - cut.low.x + 2 * border, cut.high.y - cut.low.y + 2 * border,
                  std::max(0.0, -cut.low.z) + kGuessedFloor_mm};
  const std::filesystem::path program(program_file);
  std::set<int> tools;
  for (const Move& move : path.moves)
    if (is_feed(move))
      tools.insert(move.tool);
  if (tools.size() > 1)
    tools.erase(0); // moves before the first tool is named

  std::string text = fmt::format(
      "# Scene for {0}: a first guess. Correct foam, cutter and sheet, then: snagmap preview THIS_FILE\n"
      "# Every quantity is text with its unit: \"12 mm\", \"0.5 in\", \"120 in/min\", \"30 kPa\", \"2.2 "
      "lb/ft3\".\n"
      "# A key that is left out takes a default, which the report lists under assumed.\n"
      "title = {1}\n"
      "program = {0}\n"
      "# or, for what a program cannot say of itself (G28, G53, several work systems):\n"
      "# program = {{ file = {0}, home = [\"0 mm\", \"0 mm\", \"60 mm\"], machine_zero = [\"-100 mm\", \"-50 "
      "mm\", "
      "\"80 mm\"], "
      "origins = {{ G55 = [\"150 mm\", \"0 mm\", \"0 mm\"] }} }}\n"
      "\n"
      "# A card (`snagmap cards foams` lists them), or kind and density:\n"
      "# foam = {{ kind = \"polyurethane\", density = \"25 kg/m3\" }}\n"
      "foam = {2}\n",
      toml_text(program_file), toml_text(program.stem().string()), toml_text(foam_cards().front().name));
  const std::string cutter = toml_text(cutter_cards().front().name);
  text +=
      "\n# A card (`snagmap cards cutters` lists them), or own numbers; stick_out is tip to collet face:\n"
      "# cutter = { diameter = \"6 mm\", flute_length = \"22 mm\", shank_diameter = \"6 mm\", stick_out = "
      "\"40 mm\",\n"
      "#            flutes = 2, helix = \"30 deg\", rake = \"10 deg\" }\n";
  if (tools.size() <= 1)
    text += fmt::format("cutter = {}\n", cutter);
  text += fmt::format("\nunits = {}           # of the table and the pictures; result files are always mm\n"
                      "tolerance = \"0.5 mm\"    # how far a wall may lean and still count as firm\n"
                      "# voxel = \"0.5 mm\"\n",
                      path.inch ? "\"inch\"" : "\"mm\"");
  text +=
      fmt::format("\n[sheet]\n"
                  "# Measure your sheet and take away the # of both lines. Until then the sheet is taken to\n"
                  "# go on past the cuts on every side, and thin foam at its edges is not seen. These are\n"
                  "# the program's extents with a border:\n"
                  "# size = [\"{:.1f} mm\", \"{:.1f} mm\", \"{:.1f} mm\"]\n"
                  "# zero = [\"{:.1f} mm\", \"{:.1f} mm\"]   # from the sheet's lower left corner; or "
                  "\"lower left\", \"centre\" ...\n"
                  "zero_on = \"top\"          # or \"table\"\n"
                  "# stands_on = \"foam\"     # what is left under a web: \"foam\", or \"board\" when "
                  "cut right through\n",
                  size.x, size.y, size.z, -corner.x, -corner.y);
  if (tools.size() > 1)
    for (const int tool : tools)
      text += fmt::format("\n[[tool]]\nnumber = {}\ncutter = {}\n", tool, cutter);
  if (!notes.empty())
    text += "\n# What the program leaves open, and what was assumed in reading it; answer in [program] above "
            "or by "
            "the cards:\n";
  for (std::string note : notes) {
    for (char& c : note)
      c = c == '\n' || c == '\r' ? ' ' : c;
    text += "# - " + note + "\n";
  }
  text += "\n# [machine]\n"
          "# feed = [\"8 m/min\", \"8 m/min\", \"2 m/min\"]              # greatest, each axis\n"
          "# acceleration = [\"500 mm/s2\", \"500 mm/s2\", \"200 mm/s2\"]\n";
  return text;
}

} // namespace snagmap
