// Scenes made from a program and a few words, and the starter scene with what a program leaves open.
#include "sim/program/program.hpp"
#include "sim/scene/scene.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>

#include <unistd.h>

using namespace snagmap;

namespace {

struct ProgramFile {
  std::string path =
      (std::filesystem::temp_directory_path() / ("snagmap-words-" + std::to_string(getpid()) + ".nc"))
          .string();
  explicit ProgramFile(const std::string& text) { std::ofstream(path, std::ios::binary) << text; }
  ~ProgramFile() { std::filesystem::remove(path); }
};
std::string first_fault(const Outcome<Scene>& scene) {
  return scene ? "(accepted)" : scene.faults().front().what;
}

} // namespace

TEST(ProgramWords, EachToolNumberTakesItsCard) {
  const ProgramFile file("T2 M6\nG1 X10 F100\nM2\n");
  const auto scene = scene_of_program(file.path, "pu-22", {"1=flat-6.35-long", "2=flat-6.35-stub"});
  ASSERT_TRUE(scene) << first_fault(scene);
  ASSERT_EQ(scene->cutters.size(), 2u);
  const auto path = read_program(file.path, program_options(*scene));
  ASSERT_TRUE(path);
  EXPECT_EQ(scene->cutters[static_cast<std::size_t>(path->moves.back().tool)].name, "flat-6.35-stub");
  EXPECT_NE(first_fault(scene_of_program(file.path, "pu-22", {"flat-6.35-long", "2=flat-6.35-stub"}))
                .find("names no tool"),
            std::string::npos);
  EXPECT_NE(first_fault(scene_of_program(file.path, "pu-22", {"2=flat-6.35-long", "2=flat-6.35-stub"}))
                .find("tool 2 twice"),
            std::string::npos);
  EXPECT_NE(first_fault(scene_of_program(file.path, "pu-22", {"2=no-such-card"})).find("no-such-card"),
            std::string::npos);
}

TEST(ProgramWords, OneCardForTwoToolsIsSaid) {
  const ProgramFile file("T1 M6\nG1 X10 F100\nT2 M6\nX0\nM2\n");
  const auto scene = scene_of_program(file.path, "pu-22", {"flat-6.35-long"});
  ASSERT_TRUE(scene);
  const auto path = read_program(file.path, program_options(*scene));
  ASSERT_TRUE(path);
  bool said = false;
  for (const note::Remark& note : path->notes)
    said = said || (note.about == RemarkKind::second_tool && note.words.at(0) == "T2");
  EXPECT_TRUE(said);
}

TEST(ProgramWords, TheScenesDialectReachesTheReader) {
  const ProgramFile file("X10\nM2\n");
  const auto scene_with = [&](const std::string& dialect) {
    return parse_scene("foam = \"pu-22\"\ncutter = \"flat-6.35-long\"\n[program]\nfile = \"" + file.path +
                           "\"\ndialect = \"" + dialect + "\"\n",
                       "s.toml", "");
  };
  EXPECT_TRUE(read_program(file.path, program_options(*scene_with("grbl"))));
  EXPECT_FALSE(read_program(file.path, program_options(*scene_with("linuxcnc"))));
  EXPECT_FALSE(scene_with("another"));
}

// The questions a program leaves open stand as comments in the starter scene, which can be read as it is.
TEST(StarterScene, CarriesWhatTheReaderAssumedAsComments) {
  const ProgramFile file("G28\nT12 M6\nG41 G1 X20 F100\nT4711 M6\nX0\nM2\n");
  ProgramOptions options;
  options.any_tool = true;
  const auto path = read_program(file.path, options);
  ASSERT_FALSE(path); // a tool change under compensation
  const ProgramFile good("G28\nT12 M6\nG41 G1 X20 F100\nG40 X0\nT4711 M6\nX5 Z-3\nM2\n");
  const auto read = read_program(good.path, options);
  ASSERT_TRUE(read) << to_text(read.faults().front());
  std::vector<std::string> notes;
  for (const note::Remark& note : read->notes)
    notes.push_back(fmt::format("line {}: {}", note.line, to_text(note.about)));
  const std::string text = starter_scene(good.path, *read, notes);
  EXPECT_NE(text.find("# - line 1: home-assumed"), std::string::npos) << text;
  EXPECT_NE(text.find("number = 4711"), std::string::npos);
  const auto scene = parse_scene(text, "s.toml", "");
  ASSERT_TRUE(scene) << first_fault(scene);
  EXPECT_TRUE(read_program(good.path, program_options(*scene)));
}
