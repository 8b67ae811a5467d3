// Every key of a scene that may be left out: what is used instead is listed under assumed.
#include "sim/scene/foam_card.hpp"
#include "sim/scene/scene.hpp"
#include "sim/text/table.hpp"
#include "tests/sim/assumed_text.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <set>
#include <sstream>
#include <unistd.h>

namespace snagmap {
namespace {

namespace fs = std::filesystem;
using Keys = std::vector<std::pair<std::string, std::string>>; // key, value

/// A section with every key it knows, and those whose absence assumes nothing, with the reason.
struct Section {
  std::string name; ///< "" top level
  Keys keys;
  std::set<std::string> quiet;
};

std::vector<Section> sections() {
  return {
      {"",
       {{"voxel", "\"0.5 mm\""},
        {"tolerance", "\"0.5 mm\""},
        {"sample", "\"2 mm\""},
        {"units", "\"mm\""},
        {"title", "\"t\""}},
       {"title"}}, // no number hangs on it
      {"sheet",
       {{"size", "[\"300 mm\", \"200 mm\"]"},
        {"thickness", "\"50 mm\""},
        {"zero", "\"centre\""},
        {"zero_on", "\"top\""},
        {"stands_on", "\"foam\""},
        {"thickness_spread", "\"0 mm\""}},
       {}},
      {"program",
       {{"file", "\"part.nc\""},
        {"arc_tolerance", "\"0.002 mm\""},
        {"dialect", "\"grbl\""},
        {"start", "[\"0 mm\", \"0 mm\", \"9 mm\"]"},
        {"block_delete", "true"},
        {"machine_zero", "[\"0 mm\", \"0 mm\", \"9 mm\"]"},
        {"home", "[\"0 mm\", \"0 mm\", \"9 mm\"]"},
        {"second_home", "[\"0 mm\", \"0 mm\", \"9 mm\"]"},
        {"origins", "{ G55 = [\"0 mm\", \"0 mm\", \"9 mm\"] }"}},
       {"file", "machine_zero", "home", "second_home",
        "origins"}}, // needed; the reader notes where they matter
      {"stops", {{"strand", "\"150 mm\""}, {"within", "\"120 s\""}}, {}},
      {"machine",
       {{"card", "\"belt-gantry\""},
        {"feed", "\"8 m/min\""},
        {"rapid", "\"8 m/min\""},
        {"acceleration", "\"500 mm/s2\""},
        {"jerk", "\"500 mm/s3\""},
        {"corner_deviation", "\"0.02 mm\""},
        {"spindle", "[\"8000 rpm\", \"24000 rpm\"]"},
        {"spindle_run_up", "\"3 s\""},
        {"tool_change", "\"60 s\""},
        {"name", "\"own\""}},
       {"name", "feed", "rapid", "acceleration", "jerk", "corner_deviation", "spindle"}}, // the named card's
      {"hold_down",
       {{"kind", "\"tape\""},
        {"area", "\"50 %\""},
        {"strip_width", "\"50 mm\""},
        {"tension", "\"30 kPa\""},
        {"shear", "\"20 kPa\""},
        {"peel", "\"0.1 N/mm\""}},
       {"kind"}}, // needed
      {"cutter",
       {{"name", "\"own\""},
        {"tip", "\"flat\""},
        {"diameter", "\"6 mm\""},
        {"flute_length", "\"22 mm\""},
        {"shank_diameter", "\"6 mm\""},
        {"stick_out", "\"40 mm\""},
        {"flutes", "2"},
        {"helix", "\"30 deg\""},
        {"rake", "\"10 deg\""},
        {"least_chip", "\"0.05 mm\""},
        {"nut_diameter", "\"28 mm\""},
        {"nut_length", "\"17 mm\""},
        {"holder_diameter", "\"60 mm\""},
        {"holder_length", "\"60 mm\""}},
       {"name", "diameter", "flute_length", "nut_length", "holder_length"}}, // needed; with their diameters
  };
}

/// The scene of all sections with every key but one.
std::string scene_without(const std::string& section, const std::string& key) {
  std::string text = "foam = \"pu-22\"\n";
  for (const Section& one : sections()) {
    if (!one.name.empty())
      text += "[" + one.name + "]\n";
    for (const auto& [name, value] : one.keys)
      if (one.name != section || name != key)
        text += name + " = " + value + "\n";
  }
  return text;
}

fs::path folder() {
  const fs::path place = fs::path(testing::TempDir()) / ("assumed_" + std::to_string(::getpid()));
  fs::create_directories(place);
  std::ofstream(place / "part.nc") << "M30\n";
  return place;
}

std::set<std::string> assumed(const std::string& text) {
  const auto scene = parse_scene(text, "t.toml", folder().string());
  if (!scene) {
    ADD_FAILURE() << to_text(scene.faults().front()) << "\n" << text;
    return {};
  }
  std::set<std::string> lines;
  for (const Assumed& one : scene->assumed)
    lines.insert(text_of(one));
  return lines;
}

TEST(Assumed, EachKeyLeftOutAddsItsOwnLineWithItsValue) {
  const std::set<std::string> with_all = assumed(scene_without("", ""));
  for (const Section& section : sections())
    for (const auto& [key, value] : section.keys) {
      if (section.quiet.count(key) || (section.name == "sheet" && (key == "size" || key == "thickness")))
        continue; // settle_sheet takes these from the program: ASheetWithoutSize...
      const std::string line = (section.name.empty() ? "" : "[" + section.name + "] ") + key + " = ";
      const auto has = [&](const std::set<std::string>& all) {
        return std::any_of(all.begin(), all.end(),
                           [&](const std::string& one) { return one.rfind(line, 0) == 0; });
      };
      EXPECT_FALSE(has(with_all)) << line << ": given, and yet assumed";
      EXPECT_TRUE(has(assumed(scene_without(section.name, key)))) << line << ": left out without a word";
    }
}

TEST(Assumed, TheKeysTriedAreAllThatTheScenesSectionsKnow) {
  // A key nobody knows makes the reader list those it knows. Left aside: other ways to say the same.
  const std::set<std::string> other_ways{
      "layers",      "stock",        "stock_unit",    "card",        "profile",  "corner_radius", "taper",
      "point_angle", "tip_diameter", "neck_diameter", "neck_length", "pressure", "film"};
  for (const Section& section : sections()) {
    if (section.name.empty())
      continue;
    std::string text = scene_without("", "");
    const std::string head = "[" + section.name + "]\n";
    text.insert(text.find(head) + head.size(), "zzzzzzzzzzzz = 1\n");
    const auto scene = parse_scene(text, "t.toml", folder().string());
    ASSERT_FALSE(scene);
    const std::string said = scene.faults().front().way_out, start = "known here: ";
    ASSERT_EQ(said.rfind(start, 0), 0u) << said;
    std::istringstream words(said.substr(start.size()));
    for (std::string key; std::getline(words >> std::ws, key, ',');)
      EXPECT_TRUE(other_ways.count(key) || std::any_of(section.keys.begin(), section.keys.end(),
                                                       [&](const auto& k) { return k.first == key; }))
          << section.name << " knows " << key << ", which no test leaves out";
  }
}

TEST(Assumed, NothingIsListedWithoutItsValue) {
  for (const char* text :
       {"program = \"part.nc\"\nfoam = \"pu-22\"\ncutter = \"flat-6.35-long\"\n",
        "program = { file = \"part.nc\" }\nfoam = { kind = \"polyurethane\", density = \"25 kg/m3\" }\n"
        "machine = \"rack-gantry\"\n[sheet]\nsize = [\"300 mm\", \"200 mm\", \"50 mm\"]\n"
        "[[tool]]\nnumber = 1\ncutter = { diameter = \"6 mm\", flute_length = \"22 mm\" }\n"
        "[[tool]]\nnumber = 2\ncutter = { card = \"flat-6.35-long\", flutes = 1 }\n"
        "[hold_down]\nkind = \"vacuum\"\npressure = \"20 kPa\"\n[collet]\nbore = \"6 mm\"\n",
        "program = \"part.nc\"\ncutter = { profile = [ { to = [\"3 mm\", \"0 mm\"] }, { to = [\"3 mm\", \"22 "
        "mm\"] } "
        "], diameter = \"6 mm\", flute_length = \"22 mm\" }\n"
        "[sheet]\nlayers = [ { foam = \"pe-32\", thickness = \"30 mm\" } ]\n[machine]\nfeed = \"9 m/min\"\n"
        "[hold_down]\nkind = \"tape\"\n"})
    for (const std::string& line : assumed(text))
      EXPECT_EQ(line.find(kUnstated), std::string::npos) << line;
}

TEST(Assumed, MachineTimesAreListedWhateverTheCard) {
  // The values are the card's own (snagmap cards machines).
  for (const char* machine : {"", "machine = \"belt-gantry\"\n", "[machine]\ncard = \"belt-gantry\"\n"}) {
    const std::set<std::string> all = assumed(
        "program = \"part.nc\"\nfoam = \"pu-22\"\ncutter = \"flat-6.35-long\"\n" + std::string(machine));
    for (const char* start : {"[machine] tool_change = 120 s (", "[machine] spindle_run_up = 3 s ("})
      EXPECT_TRUE(
          std::any_of(all.begin(), all.end(), [&](const std::string& s) { return s.rfind(start, 0) == 0; }))
          << start << machine;
  }
}

TEST(Assumed, WhatAnOwnFoamCardAssumesIsListedUnderItsFile) {
  std::ofstream(folder() / "own.toml") << "card = \"pu-22\"\nmodulus = \"60 kPa\"\n";
  const std::set<std::string> all =
      assumed("program = \"part.nc\"\nfoam = \"own.toml\"\ncutter = \"flat-6.35-long\"\n");
  EXPECT_TRUE(std::any_of(all.begin(), all.end(),
                          [](const std::string& s) { return s.rfind("own.toml: pull_ratio = ", 0) == 0; }));
}

} // namespace
} // namespace snagmap
