// Reading scenes: what is accepted, what is assumed, and the exact words for what is wrong.
#include "sim/scene/scene.hpp"
#include "sim/text/toml.hpp"
#include "tests/sim/assumed_text.hpp"

#include <algorithm>
#include <filesystem>
#include <fmt/format.h>
#include <fstream>
#include <gtest/gtest.h>
#include <sstream>

namespace fs = std::filesystem;
using namespace snagmap;

namespace {

const std::string kBad = std::string(SNAGMAP_ROOT) + "/tests/bad/scenes";

std::string slurp(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

std::string all_of(const std::vector<Fault>& faults) {
  std::string text;
  for (const Fault& fault : faults)
    text += to_text(fault) + "\n";
  return text;
}

Outcome<Scene> parsed(const std::string& text) {
  return parse_scene(text, "s.toml", kBad);
}

const std::string kLeast = "program = \"part.nc\"\nfoam = \"pu-22\"\n"
                           "cutter = { diameter = \"6 mm\", flute_length = \"22 mm\" }\n";

bool holds(const std::vector<Assumed>& all, const std::string& wanted) {
  std::vector<std::string> lines;
  for (const Assumed& one : all)
    lines.push_back(text_of(one));
  return std::find(lines.begin(), lines.end(), wanted) != lines.end();
}

Path square_mm(double side, double depth) {
  Path path;
  Move move;
  move.from = {0, 0, 5}, move.to = {0, 0, -depth};
  path.moves.push_back(move);
  move.from = move.to, move.to = {side, 0, -depth};
  path.moves.push_back(move);
  move.from = move.to, move.to = {side, side, -depth};
  path.moves.push_back(move);
  return path;
}

class BadScene : public testing::TestWithParam<std::string> {};

std::vector<std::string> bad_scenes() {
  std::vector<std::string> names;
  for (const auto& entry : fs::directory_iterator(kBad))
    if (entry.path().extension() == ".toml")
      names.push_back(entry.path().stem().string());
  std::sort(names.begin(), names.end());
  return names;
}

} // namespace

TEST_P(BadScene, IsRefusedInExactlyTheseWords) {
  const std::string name = GetParam();
  const auto scene = parse_scene(slurp(kBad + "/" + name + ".toml"), name + ".toml", kBad);
  ASSERT_FALSE(scene);
  EXPECT_EQ(all_of(scene.faults()), slurp(kBad + "/" + name + ".txt"));
}
INSTANTIATE_TEST_SUITE_P(Corpus, BadScene, testing::ValuesIn(bad_scenes()),
                         [](const auto& scene) { return scene.param; });

TEST(Scene, LeastSceneNeedsOnlyFoamCutterAndProgram) {
  const auto scene = parsed(kLeast);
  ASSERT_TRUE(scene) << all_of(scene.faults());
  EXPECT_EQ(scene->title, "part");
  EXPECT_EQ(scene->program_file, fs::path(kBad + "/part.nc").lexically_normal().string());
  ASSERT_EQ(scene->cutters.size(), 1u);
  EXPECT_EQ(scene->cutters[0].diameter_mm, 6);
  EXPECT_EQ(scene->cutters[0].shank_diameter_mm, 6);
  EXPECT_FALSE(scene->sheet_given);
  EXPECT_EQ(scene->main_foam().name, "pu-22");
}

TEST(Scene, EveryDefaultIsListedUnderAssumed) {
  const auto scene = parsed(kLeast);
  ASSERT_TRUE(scene);
  for (const char* line :
       {"[sheet] zero_on = \"top\" (not given)",
        "[sheet] stands_on = \"foam\" (webs stand on the foam left under them)",
        "[cutter] shank_diameter = 6 mm (as the flutes)",
        "[cutter] stick_out = 32 mm (flutes, neck and 10 mm)", "[cutter] flutes = 2 (common practice)",
        "[cutter] helix = 30 deg (common practice, up-cut)", "[cutter] rake = 10 deg (a guess)",
        "voxel = 0.5 mm (a wall is measured from the moves, not from voxels)",
        "tolerance = 0.5 mm (common practice in plan)"})
    EXPECT_TRUE(holds(scene->assumed, line)) << line;
}

TEST(Scene, WhatIsGivenIsNotAssumed) {
  const auto scene = parsed("voxel = \"0.25 mm\"\n" + kLeast);
  ASSERT_TRUE(scene);
  EXPECT_EQ(scene->voxel_mm, 0.25);
  for (const Assumed& one : scene->assumed)
    EXPECT_NE(one.key, "voxel");
}

TEST(Scene, InchAndMetricSceneAreTheSame) {
  // 1 inch is 25.4 mm exactly (international yard and pound agreement, 1959).
  const auto scene =
      parsed("program = \"part.nc\"\nfoam = \"pu-22\"\n"
             "cutter = { diameter = \"0.25 in\", flute_length = \"1 in\", stick_out = \"2 in\" }\n"
             "[sheet]\nsize = [\"10 in\", \"5 in\", \"2 in\"]\n"
             "[machine]\nfeed = \"100 in/min\"\n");
  ASSERT_TRUE(scene) << all_of(scene.faults());
  EXPECT_DOUBLE_EQ(scene->cutters[0].diameter_mm, 6.35);
  EXPECT_DOUBLE_EQ(scene->sheet.high.x, 254);
  EXPECT_DOUBLE_EQ(scene->sheet.low.z, -50.8);
  EXPECT_DOUBLE_EQ(scene->machine.feed_mm_min[2], 2540);
}

TEST(Scene, ZeroPlacesTheSheetInWorkCoordinates) {
  const std::string size = kLeast + "[sheet]\nsize = [\"300 mm\", \"200 mm\", \"50 mm\"]\n";
  const auto centre = parsed(size + "zero = \"centre\"\n");
  ASSERT_TRUE(centre);
  EXPECT_EQ(centre->sheet.low.x, -150);
  EXPECT_EQ(centre->sheet.high.y, 100);
  EXPECT_EQ(centre->sheet.high.z, 0);
  const auto corner = parsed(size + "zero = [\"20 mm\", \"-5 mm\"]\nzero_on = \"table\"\n");
  ASSERT_TRUE(corner);
  EXPECT_EQ(corner->sheet.low.x, -20);
  EXPECT_EQ(corner->sheet.low.y, 5);
  EXPECT_EQ(corner->sheet.low.z, 0);
  EXPECT_EQ(corner->sheet.high.z, 50);
}

TEST(Scene, LayersStandFromTheBottomUp) {
  const auto scene =
      parsed("program = \"part.nc\"\ncutter = { diameter = \"6 mm\", flute_length = \"22 mm\" }\n"
             "[sheet]\nlayers = [ { foam = { card = \"pu-22\", name = \"base\" }, thickness = \"10 mm\" },\n"
             "{ foam = \"pu-22\", thickness = \"30 mm\" } ]\nsize = [\"300 mm\", \"200 mm\"]\n");
  ASSERT_TRUE(scene) << all_of(scene.faults());
  EXPECT_EQ(scene->sheet.low.z, -40);
  EXPECT_EQ(scene->foam_at(-39).name, "base");
  EXPECT_EQ(scene->foam_at(-31).name, "base");
  EXPECT_EQ(scene->foam_at(-29).name, "pu-22");
  EXPECT_EQ(scene->foam_at(0).name, "pu-22");
}

TEST(Scene, OwnModulusScalesThePullRatioWithTheCardsBiteEfficiency) {
  // Lambda = chi Gc / (E delta): twice the modulus halves it.
  const auto card = parsed(kLeast);
  const auto own = parsed("program = \"part.nc\"\nfoam = { card = \"pu-22\", modulus = \"100 kPa\" }\n"
                          "cutter = { diameter = \"6 mm\", flute_length = \"22 mm\" }\n");
  ASSERT_TRUE(card && own) << all_of(own.faults());
  const Banded &before = card->main_foam().lambda, &after = own->main_foam().lambda;
  const double ratio = card->main_foam().E_kPa.nominal / 100;
  EXPECT_DOUBLE_EQ(after.nominal, before.nominal * ratio);
  EXPECT_DOUBLE_EQ(after.high, before.high * ratio);
  EXPECT_EQ(own->main_foam().E_kPa.source, "the scene");
}

TEST(Scene, SeveralToolsMapNumbersToCutters) {
  const auto scene =
      parsed("program = \"part.nc\"\nfoam = \"pu-22\"\n"
             "[[tool]]\nnumber = 7\ncutter = { diameter = \"3 mm\", flute_length = \"9 mm\" }\n"
             "[[tool]]\nnumber = 2\nlength = \"80 mm\"\ncutter = { diameter = \"6 mm\", flute_length = \"9 "
             "mm\" }\n");
  ASSERT_TRUE(scene) << all_of(scene.faults());
  EXPECT_EQ(scene->tool_index.at(7), 0);
  EXPECT_EQ(scene->tool_index.at(2), 1);
  EXPECT_EQ(scene->cutters[1].diameter_mm, 6);
  EXPECT_EQ(scene->tool_length_mm.at(2), 80);
}

TEST(Scene, PlacesOfTheMachineReachTheReader) {
  const auto scene = parsed(
      "foam = \"pu-22\"\n"
      "[program]\nfile = \"part.nc\"\nstart = [\"1 mm\", \"2 mm\", \"30 mm\"]\n"
      "arc_tolerance = \"0.01 mm\"\nblock_delete = true\n"
      "machine_zero = [\"-100 mm\", \"-50 mm\", \"80 mm\"]\n"
      "home = [\"-90 mm\", \"-40 mm\", \"70 mm\"]\n"
      "second_home = [\"0 mm\", \"0 mm\", \"2 in\"]\n"
      "origins = { G55 = [\"150 mm\", \"0 mm\", \"-1 mm\"], \"G59.3\" = [\"0 mm\", \"7 mm\", \"0 mm\"] }\n"
      "[[tool]]\nnumber = 2\nlength = \"80 mm\"\n"
      "cutter = { diameter = \"6 mm\", flute_length = \"9 mm\" }\n");
  ASSERT_TRUE(scene) << all_of(scene.faults());
  const ProgramOptions options = program_options(*scene);
  const auto text = [](Vec3 p) { return fmt::format("{} {} {}", p.x, p.y, p.z); };
  EXPECT_EQ(text(options.start_mm), "1 2 30");
  EXPECT_EQ(options.arc_tolerance_mm, 0.01);
  EXPECT_TRUE(options.block_delete);
  EXPECT_EQ(text(options.machine_zero_mm.value()), "-100 -50 80");
  EXPECT_EQ(text(options.home_mm.value()), "-90 -40 70");
  EXPECT_EQ(text(options.second_home_mm.value()), "0 0 50.8");
  ASSERT_EQ(options.work_origin_mm.size(), 2u);
  EXPECT_EQ(text(options.work_origin_mm.at(2)), "150 0 -1");
  EXPECT_EQ(text(options.work_origin_mm.at(9)), "0 7 0");
  EXPECT_EQ(options.tool_index, (std::map<int, int>{{2, 0}}));
  EXPECT_EQ(options.tool_length_mm, (std::map<int, double>{{2, 80}}));
  EXPECT_FALSE(program_options(*parsed(kLeast)).home_mm);
}

TEST(Scene, HoldDownColletAndDrawerAreRead) {
  const auto scene = parsed(kLeast + "[hold_down]\nkind = \"tape\"\narea = \"60 %\"\n"
                                     "[collet]\nseries = \"ER11\"\nbore = \"6 mm\"\nleast = \"5.5 mm\"\n"
                                     "[[drawer]]\ndiameter = \"6 mm\"\nflute_length = \"6 mm\"\n");
  ASSERT_TRUE(scene) << all_of(scene.faults());
  EXPECT_EQ(scene->hold_down.kind, HoldDownKind::tape);
  EXPECT_DOUBLE_EQ(scene->hold_down.tape_area_share, 0.6);
  EXPECT_EQ(scene->collet.bore_mm, 6);
  ASSERT_EQ(scene->drawer.size(), 1u);
  EXPECT_TRUE(scene->notes.empty());
}

TEST(Scene, SheetThatIsNotGivenComesFromTheProgramAndIsAssumed) {
  auto scene = parsed(kLeast);
  ASSERT_TRUE(scene);
  settle_sheet(*scene, square_mm(100, 20));
  // Extents 0..100, cutter radius 3, 70 mm all round: 10 more than a web can be thick; depth 20 and floor 10.
  EXPECT_EQ(scene->sheet.low.x, -73);
  EXPECT_EQ(scene->sheet.high.y, 173);
  EXPECT_EQ(scene->sheet.low.z, -30);
  EXPECT_EQ(scene->layers[0].thickness_mm, 30);
  EXPECT_TRUE(holds(scene->assumed, "[sheet] size = 246 mm, 246 mm (extents and 70 mm)"));
  EXPECT_TRUE(holds(scene->assumed, "[sheet] zero = 73 mm, 73 mm (from the lower left corner of that size)"));
  EXPECT_TRUE(holds(scene->assumed, "[sheet] thickness = 30 mm (deepest cut and 10 mm)"));
  ASSERT_EQ(scene->notes.size(), 1u);
  EXPECT_TRUE(std::holds_alternative<note::BorderAssumed>(scene->notes[0]));
}

TEST(Scene, OnlyWhatIsNotGivenOfTheSheetIsAssumed) {
  auto scene = parsed(kLeast + "[sheet]\nsize = [\"120 mm\", \"110 mm\"]\n"); // the plan alone
  ASSERT_TRUE(scene);
  settle_sheet(*scene, square_mm(100, 20));
  EXPECT_EQ(scene->sheet.high.x, 120);
  EXPECT_EQ(scene->sheet.low.z, -30);
  EXPECT_TRUE(scene->notes.empty());
  scene = parsed(kLeast + "[sheet]\nthickness = \"40 mm\"\n"); // the thickness alone
  ASSERT_TRUE(scene);
  settle_sheet(*scene, square_mm(100, 20));
  EXPECT_EQ(scene->sheet.high.x, 173);
  EXPECT_EQ(scene->sheet.low.z, -40);
  for (const Assumed& one : scene->assumed)
    EXPECT_NE(one.table + " " + one.key, "[sheet] thickness");
}

TEST(Scene, MixUpOfInchAndMillimetreIsNoted) {
  const std::string sheet = kLeast + "[sheet]\nsize = [\"300 mm\", \"300 mm\", \"50 mm\"]\n";
  for (const auto& [side, notes] : {std::pair{280 / 25.4, 1u}, {280.0, 0u}, {280 * 25.4, 1u}, {100.0, 0u}}) {
    auto scene = parsed(sheet);
    ASSERT_TRUE(scene);
    settle_sheet(*scene, square_mm(side, 20));
    EXPECT_EQ(scene->notes.size(), notes) << side;
  }
}

TEST(Scene, StarterSceneOfAProgramReadsWithoutFault) {
  const auto scene = parsed(starter_scene("part.nc", square_mm(100, 20), {}));
  ASSERT_TRUE(scene) << all_of(scene.faults());
  EXPECT_FALSE(scene->sheet_given); // nobody has measured it yet
  std::string text = starter_scene("part.nc", square_mm(100, 20), {});
  for (const char* key : {"# size", "# zero"})
    text.erase(text.find(key), 2);
  const auto measured = parsed(text);
  ASSERT_TRUE(measured) << all_of(measured.faults());
  EXPECT_TRUE(measured->sheet_given);
  EXPECT_NEAR(measured->sheet.high.z - measured->sheet.low.z, 30, 0.05); // written to 0.1 mm
}

TEST(Scene, TenThousandBracketsAndEndlessDotsAreRefusedNotFollowed) {
  for (const char* opening : {"[", "{a=", "[["}) {
    std::string text = "voxel = ";
    for (int i = 0; i < 10000; ++i)
      text += opening, text += (i % 100 == 99 && *opening == '[') ? "\n" : "";
    EXPECT_FALSE(parsed(text)) << opening;
  }
  std::string dots = "[a";
  for (int i = 0; i < 100000; ++i)
    dots += ".a";
  EXPECT_FALSE(parsed(dots + "]\n"));
}

TEST(Scene, FileOverFourMegabytesIsRefused) {
  const fs::path file = fs::path(testing::TempDir()) / "huge.toml";
  std::ofstream(file) << std::string(kLongestScene + 1, '#');
  const auto scene = read_scene(file.string());
  ASSERT_FALSE(scene);
  EXPECT_EQ(all_of(scene.faults()), file.string() +
                                        ": larger than 4 MB, the most that is read of a scene\n"
                                        "  is this the program? A scene names it: program = \"part.nc\"\n");
  fs::remove(file);
}

TEST(Scene, MissingFileAndFolderAreNamed) {
  EXPECT_EQ(all_of(read_scene("no/such.toml").faults()),
            "no/such.toml: no such file\n  give the path of a scene file\n");
  EXPECT_EQ(all_of(read_scene(kBad).faults()), kBad + ": is a folder\n  give the path of the file in it\n");
}

TEST(Scene, TextCutAnywhereNeverBreaksTheReader) {
  const std::string text =
      slurp(kBad + "/several_faults.toml") + "[sheet]\nsize = [\"300 mm\", \"200 mm\", \"50 mm\"]\n";
  for (std::size_t i = 0; i < text.size(); ++i) {
    const auto scene = parsed(text.substr(0, i));
    ASSERT_FALSE(scene) << i;
    for (const Fault& fault : scene.faults())
      EXPECT_FALSE(fault.what.empty()) << i;
  }
}
