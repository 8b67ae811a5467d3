// The scene's program: its file, how it is to be read, and the places of the machine it may name.
#include "sim/scene/sections.hpp"
#include "sim/text/whole_file.hpp"

#include <filesystem>
#include <fmt/format.h>
#include <fstream>

namespace snagmap {
namespace {

namespace fs = std::filesystem;
using Kind = SceneValue::Kind;

constexpr Range kPlace{Dimension::length, -5000, 5000};

void find_program(SceneReading& reading, const SceneValue& value, Scene& scene) {
  const fs::path given(value.text);
  const fs::path file = given.is_absolute() ? given : fs::path(reading.folder) / given;
  std::error_code error;
  if (const auto fault = no_plain_file(file.string(), "paths start at the scene's folder"))
    reading.fault(value, "program " + shown(value) + ": " + fault->what, fault->way_out);
  else if (!std::ifstream(file))
    reading.fault(value, "program " + shown(value) + " cannot be read as a file", "");
  scene.program_file = fs::absolute(file, error).lexically_normal().string();
}

std::optional<Vec3> place(SceneTable& table, const std::string& key) {
  if (const auto three = table.quantities(key, kPlace, 3, 3))
    return Vec3{(*three)[0], (*three)[1], (*three)[2]};
  return {};
}

/// origins = { G55 = ["150 mm", "0 mm", "0 mm"], "G59.1" = [...] }
void read_origins(SceneTable& program, Scene& scene) {
  const SceneValue* value = program.find("origins");
  if (!value)
    return;
  const char* way_out = "origins = { G55 = [\"150 mm\", \"0 mm\", \"0 mm\"], \"G59.1\" = [...] }";
  if (value->kind != Kind::table)
    return program.fault(
        "origins", "origins is " + shown(*value) + "; a table of work systems and their places belongs here",
        way_out);
  const char* const systems[] = {"G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3"};
  SceneTable table(program.reading(), *value, "origins");
  for (int n = 0; n < 9; ++n) {
    const SceneValue* own = table.find(systems[n]);
    if (own && own->kind == Kind::table && n == 5) // TOML takes an unquoted G59.1 as G59 with a key 1
      program.reading().fault(*own, "G59 is a table; a list of 3 places belongs here",
                              "a name with a point stands in quotes: \"G59.1\" = [...]");
    else if (const auto origin = place(table, systems[n]))
      scene.work_origin_mm[n + 1] = *origin;
  }
  table.quiet({std::begin(systems), std::end(systems)});
  table.finish();
}

} // namespace

void read_program_section(SceneTable& top, Scene& scene) {
  const SceneValue* value = top.find("program");
  if (!value)
    return top.missing("program", "program = \"part.nc\", the NC file to preview");
  const SceneValue none;
  const bool plain = value->kind != Kind::table;
  SceneTable table(top.reading(), plain ? none : *value, "[program]");
  if (plain) {
    if (top.text("program"))
      find_program(top.reading(), *value, scene);
  } else if (const SceneValue* file = table.find("file")) {
    if (table.text("file"))
      find_program(top.reading(), *file, scene);
  } else {
    table.missing("file", "file = \"part.nc\"");
  }
  if (table.has("arc_tolerance"))
    scene.arc_tolerance_mm = table.quantity("arc_tolerance", {Dimension::length, 0.0001, 0.5});
  else
    table.assume("arc_tolerance", "as LinuxCNC and GRBL have it",
                 "how far the radii at an arc's two ends may differ");
  if (const auto dialect = table.choice("dialect", {"linuxcnc", "grbl"}))
    scene.dialect = *dialect == 0 ? Dialect::linuxcnc : Dialect::grbl;
  else
    table.assume("dialect", "either",
                 "what LinuxCNC or GRBL accepts is read; where they differ, as LinuxCNC");
  if (const auto start = place(table, "start"))
    scene.start_mm = *start;
  scene.start_given = table.has("start");
  if (!scene.start_given)
    table.assume("start", {{0, Dimension::length}, {0, Dimension::length}, {20, Dimension::length}},
                 why::Source{"where the tip stands before the first move"});
  scene.block_delete = table.flag_or("block_delete", false, "lines beginning with / are run");
  // Without these the reader takes the start place, refuses what it cannot know, and notes it where it
  // matters.
  scene.machine_zero_mm = place(table, "machine_zero");
  scene.home_mm = place(table, "home");
  scene.second_home_mm = place(table, "second_home");
  read_origins(table, scene);
  table.quiet({"file", "machine_zero", "home", "second_home", "origins"});
  table.finish();
}

ProgramOptions program_options(const Scene& scene) {
  ProgramOptions options;
  options.start_mm = scene.start_mm;
  options.start_assumed = !scene.start_given;
  options.arc_tolerance_mm = scene.arc_tolerance_mm;
  options.dialect = scene.dialect;
  options.sheet_top_mm = scene.zero_on_table ? scene.sheet.high.z : 0;
  for (const CutterCard& cutter : scene.cutters)
    options.cutter_radius_mm.push_back(0.5 * cutter.diameter_mm);
  options.block_delete = scene.block_delete;
  options.tool_index = scene.tool_index;
  options.tool_length_mm = scene.tool_length_mm;
  options.work_origin_mm = scene.work_origin_mm;
  options.machine_zero_mm = scene.machine_zero_mm;
  options.home_mm = scene.home_mm;
  options.second_home_mm = scene.second_home_mm;
  return options;
}

} // namespace snagmap
