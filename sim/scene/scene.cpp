// A scene file: the top level, its program, and the order in which the sections are read.
#include "sim/scene/scene.hpp"
#include "sim/scene/sections.hpp"

#include <filesystem>
#include <fmt/format.h>

namespace snagmap {
namespace {

namespace fs = std::filesystem;
using Kind = SceneValue::Kind;

/// cutter = ... for a program of one cutter, [[tool]] for several.
void read_cutters(SceneTable& top, Scene& scene) {
  const SceneValue* cutter = top.find("cutter");
  const SceneValue* tools = top.find("tool");
  if (cutter && tools)
    top.fault("cutter", "cutter stands beside [[tool]]",
              "give cutter for a program of one cutter, [[tool]] for several");
  if (!cutter && !tools)
    top.missing("cutter", "cutter = { diameter = \"6 mm\", flute_length = \"22 mm\" }, or the name of a "
                          "card: `snagmap cards cutters`");
  if (cutter)
    if (auto card = read_cutter(top.reading(), *cutter, "[cutter]"))
      scene.cutters.push_back(*card);
  if (!tools)
    return;
  if (tools->kind != Kind::list)
    return top.fault("tool", "tool is " + shown(*tools) + "; [[tool]] with double brackets belongs here", "");
  for (const SceneValue& item : tools->items) {
    if (item.kind != Kind::table) {
      top.reading().fault(item, "tool is " + shown(item) + "; a table with number and cutter belongs here",
                          "");
      continue;
    }
    SceneTable tool(top.reading(), item, "[[tool]]");
    const auto number = tool.whole("number", 0, 99999);
    const auto length = tool.quantity("length", {Dimension::length, 0, 1000});
    tool.quiet({"length"}); // the reader notes where it matters
    const SceneValue* its = tool.find("cutter");
    if (!tool.has("number"))
      tool.missing("number", "number = 1, as the program's T word");
    if (!its)
      tool.missing("cutter", "cutter = the name of a card or a table");
    auto card = its ? read_cutter(top.reading(), *its, "[[tool]] cutter") : std::nullopt;
    tool.finish();
    if (!number || !card)
      continue;
    if (!scene.tool_index.emplace(*number, static_cast<int>(scene.cutters.size())).second)
      tool.fault("number", fmt::format("tool number {} stands twice", *number), "");
    if (length)
      scene.tool_length_mm[*number] = *length;
    scene.cutters.push_back(*card);
  }
}

void read_drawer(SceneTable& top, Scene& scene) {
  const SceneValue* drawer = top.find("drawer");
  if (!drawer)
    return;
  if (drawer->kind != Kind::list)
    return top.fault("drawer", "drawer is " + shown(*drawer) + "; a list of cutters belongs here",
                     "drawer = [\"name of a card\", ...] or [[drawer]]");
  for (const SceneValue& item : drawer->items)
    if (auto card = read_cutter(top.reading(), item, "[[drawer]]"))
      scene.drawer.push_back(*card);
}

void read_fineness(SceneTable& top, Scene& scene) {
  scene.voxel_mm = top.quantity_or("voxel", {Dimension::length, 0.05, 5}, 0.5,
                                   "a wall is measured from the moves, not from voxels");
  scene.tolerance_mm =
      top.quantity_or("tolerance", {Dimension::length, 0.01, 10}, 0.5, "common practice in plan");
  scene.sample_mm = top.quantity("sample", {Dimension::length, 0.02, 100}).value_or(0);
  if (!top.has("sample"))
    top.assume("sample", "a quarter of the cutter's diameter", "spacing of the places judged");
  const auto units = top.choice("units", {"mm", "inch"});
  scene.units_given = units.has_value();
  scene.show_inch = units == std::size_t{1};
  if (!top.has("units"))
    top.assume("units", "the program's", "not given");
}

} // namespace

Outcome<Scene> parse_scene(const std::string& text, const std::string& name, const std::string& folder,
                           const StockReaders& readers) {
  const Outcome<SceneValue> parsed = parse_scene_text(text, name);
  if (!parsed)
    return parsed.faults();
  Scene scene;
  scene.file = name, scene.folder = folder, scene.text = text;
  SceneReading reading{name, folder, text, {}, {}, {}};
  SceneTable top(reading, *parsed, "");
  scene.title = top.text("title").value_or("");
  read_sheet(top, scene, readers);
  read_cutters(top, scene);
  read_program_section(top, scene);
  scene.machine = read_machine(reading, top.find("machine"));
  scene.hold_down = read_hold_down(reading, top.find("hold_down"));
  scene.collet = read_collet(reading, top.find("collet"));
  scene.stops = read_stops(reading, top.find("stops"));
  read_drawer(top, scene);
  read_fineness(top, scene);
  // The sections say what they assume themselves.
  top.quiet(
      {"title", "foam", "cutter", "tool", "sheet", "machine", "hold_down", "collet", "stops", "drawer"});
  top.finish();
  if (!reading.faults.empty())
    return sorted_by_place(std::move(reading.faults));
  if (scene.title.empty())
    scene.title = fs::path(scene.program_file).stem().string();
  scene.assumed = std::move(reading.assumed);
  scene.notes = std::move(reading.notes);
  return scene;
}

Outcome<Scene> read_scene(const std::string& file, const StockReaders& readers) {
  const Outcome<std::string> text = read_scene_text(file);
  if (!text)
    return text.faults();
  return parse_scene(*text, file, fs::path(file).parent_path().string(), readers);
}

} // namespace snagmap
