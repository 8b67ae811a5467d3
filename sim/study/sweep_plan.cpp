// The plan of a campaign, as TOML.
#include "sim/study/sweep.hpp"

#include "sim/scene/card_text.hpp"
#include "sim/scene/sections.hpp"
#include "sim/text/whole_file.hpp"

#include <filesystem>
#include <fmt/format.h>

namespace snagmap {
namespace {

namespace fs = std::filesystem;
using Kind = SceneValue::Kind;
constexpr std::size_t kMostCases = 1000000, kMostOfOne = 10000;

/// FNV-1a, 64 bit (Fowler, Noll, Vo).
void mix(std::uint64_t& hash, const std::string& text) {
  for (const char c : text)
    hash = (hash ^ static_cast<unsigned char>(c)) * 1099511628211ull;
  hash = (hash ^ 0xff) * 1099511628211ull;
}

template <class Read> void each(SceneTable& top, const char* key, const char* example, Read read) {
  const SceneValue* list = top.find(key);
  if (!list)
    return;
  if (list->kind != Kind::list || list->items.empty())
    return top.fault(key, fmt::format("{} is {}; a list belongs here", key, shown(*list)), example);
  for (const SceneValue& item : list->items)
    read(item);
}

/// A program in a scene of its own, or an NC file with a sheet taken from its extents.
void read_program_of(SceneReading& reading, const StockReaders& readers, const SceneValue& item,
                     SweepPlan& plan) {
  if (item.kind != Kind::text)
    return reading.fault(
        item, fmt::format("program is {}; the path of a scene or of an NC file belongs here", shown(item)),
        "");
  const fs::path given(item.text), file = given.is_absolute() ? given : fs::path(reading.folder) / given;
  std::error_code error;
  if (!fs::is_regular_file(file, error))
    return reading.fault(item, "program " + shown(item) + ": no such file",
                         "paths start at the plan's folder");
  const bool is_scene = file.extension() == ".toml";
  Outcome<Scene> scene = is_scene
                             ? read_scene(file.string(), readers)
                             : parse_scene(fmt::format("program = {}\nfoam = \"pu-22\"\ncutter = {{ diameter "
                                                       "= \"6 mm\", flute_length = \"20 mm\" }}\n",
                                                       toml_text(fs::absolute(file).string())),
                                           file.string(), "");
  if (!scene) {
    reading.faults.insert(reading.faults.end(), scene.faults().begin(), scene.faults().end());
    return;
  }
  if (scene->cutters.size() > 1)
    return reading.fault(item, "program " + shown(item) + " uses several cutters; a campaign exchanges one",
                         "sweep a program of one cutter");
  plan.programs.push_back(*scene);
}

std::uint64_t fingerprint_of(const SweepPlan& plan, const std::string& text) {
  std::uint64_t hash = 14695981039346656037ull;
  mix(hash, SNAGMAP_VERSION);
  mix(hash, text);
  for (const FoamCard& foam : plan.foams)
    mix(hash, foam_card_text(foam));
  for (const CutterCard& cutter : plan.cutters)
    mix(hash, cutter_text(cutter));
  for (const Scene& scene : plan.programs) {
    mix(hash, scene.text);
    for (const std::string& file : {scene.program_file, scene.stock_file}) {
      const Outcome<std::string> content = read_whole_file(file);
      mix(hash, content ? *content : "");
    }
  }
  return hash;
}

} // namespace

Outcome<SweepPlan> parse_sweep_plan(const std::string& text, const std::string& file,
                                    const StockReaders& readers) {
  const Outcome<SceneValue> parsed = parse_scene_text(text, file);
  if (!parsed)
    return parsed.faults();
  SceneReading reading{file, fs::path(file).parent_path().string(), text, {}, {}, {}};
  SceneTable top(reading, *parsed, "");
  SweepPlan plan;
  plan.file = file;
  plan.title = top.text("title").value_or(fs::path(file).stem().string());
  each(top, "foams", "foams = [\"pu-22\", \"own.toml\"]", [&](const SceneValue& item) {
    if (const auto card = read_foam(reading, item, "a foam"))
      plan.foams.push_back(*card);
  });
  each(top, "cutters", "cutters = [\"name of a card\"]", [&](const SceneValue& item) {
    if (const auto card = read_cutter(reading, item, "a cutter"))
      plan.cutters.push_back(*card);
  });
  const auto lengths = [&](const char* key, double low, double high) {
    return top.quantities(key, {Dimension::length, low, high}, 1, kMostOfOne).value_or(std::vector<double>{});
  };
  plan.passes_mm = lengths("depths", 0.2, 200);
  plan.widths_mm = lengths("widths", 1, 60);
  plan.heights_mm = lengths("heights", 1, 200);
  plan.length_mm = top.quantity("length", {Dimension::length, 10, 1000}).value_or(100);
  each(top, "programs", "programs = [\"scene.toml\", \"part.nc\"]",
       [&](const SceneValue& item) { read_program_of(reading, readers, item, plan); });
  plan.voxel_mm = top.quantity("voxel", {Dimension::length, 0.05, 5}).value_or(1);
  plan.verify = top.whole("verify", 0, 1000).value_or(0);
  if (!top.has("foams"))
    top.missing("foams", "foams = [\"pu-22\", \"pe-32\"], cards or card files");
  if (!top.has("cutters"))
    top.missing("cutters", "cutters = [\"name of a card\"], or tables as in a scene");
  const char* walls[] = {"depths", "widths", "heights"};
  const bool any = top.has("depths") || top.has("widths") || top.has("heights");
  for (const char* key : walls)
    if (any && !top.has(key))
      top.missing(key, "walls take depths (of a pass), widths and heights, each a list of lengths");
  if (!any && !top.has("programs"))
    top.missing("widths", "a campaign varies walls (depths, widths, heights) or programs, or both");
  top.finish();
  if (reading.faults.empty() && case_count(plan) > kMostCases)
    reading.faults.push_back(Fault(fmt::format("{} cases; at most {} are run", case_count(plan), kMostCases),
                                   "split the plan", file));
  if (!reading.faults.empty())
    return sorted_by_place(std::move(reading.faults));
  plan.fingerprint = fingerprint_of(plan, text);
  return plan;
}

Outcome<SweepPlan> read_sweep_plan(const std::string& file, const StockReaders& readers) {
  const Outcome<std::string> text = read_scene_text(file);
  if (!text)
    return text.faults();
  return parse_sweep_plan(*text, file, readers);
}

} // namespace snagmap
