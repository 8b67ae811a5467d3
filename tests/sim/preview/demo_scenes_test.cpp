// The demo scenes say what their README lines promise. Sizes come from the drawing in scripts/make_scenes.py.
#include "sim/program/program.hpp"
#include "sim/record/record.hpp"
#include "sim/scene/scene.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <stdexcept>
#include <string>

namespace snagmap {
namespace {

struct Cut {
  Scene scene;
  Path path;
  RemovalRecord record;
};

Scene scene_of(const std::string& name) {
  const auto scene = read_scene(SNAGMAP_ROOT "/scenes/" + name + "/scene.toml");
  if (!scene)
    throw std::runtime_error(to_text(scene.faults().front()));
  return *scene;
}

Path path_of(const Scene& scene) {
  const auto path = read_program(scene.program_file, {});
  if (!path)
    throw std::runtime_error(to_text(path.faults().front()));
  return *path;
}

Cut cut_of(const std::string& name, double voxel_mm) {
  Cut cut{scene_of(name), {}, {}};
  cut.path = path_of(cut.scene);
  CutOptions options;
  options.voxel_mm = voxel_mm;
  auto record = RemovalRecord::cut({cut.scene.sheet}, cut.scene.cutters, cut.path, options);
  if (!record)
    throw std::runtime_error(to_text(record.faults().front()));
  cut.record = std::move(*record);
  return cut;
}

/// Thickness of the foam met going to the right from a place in a slot, at the end of the program.
double web_mm(const RemovalRecord& record, Vec3 from) {
  const Span span = record.look(from, {1, 0}, 60, record.end());
  return span.hit && span.through ? span.thickness_mm : 0;
}

TEST(DemoScenes, EverySceneAndItsProgramAreReadWithoutFault) {
  int scenes = 0;
  for (const auto& entry : std::filesystem::directory_iterator(SNAGMAP_ROOT "/scenes")) {
    const std::string name = entry.path().filename().string();
    const Scene scene = scene_of(name);
    EXPECT_FALSE(path_of(scene).moves.empty()) << name;
    EXPECT_EQ(scene.main_foam().name, "pu-22") << name;
    ++scenes;
  }
  EXPECT_GE(scenes, 4);
}

TEST(DemoScenes, ToolCaseIsARealProgram) {
  const Scene scene = scene_of("bicycle-case");
  EXPECT_GE(path_of(scene).moves.size(), 5000u);
  EXPECT_GE(scene.sheet.high.x - scene.sheet.low.x, 300);
  EXPECT_GE(scene.sheet.high.y - scene.sheet.low.y, 200);
  EXPECT_GE(scene.sheet.high.z - scene.sheet.low.z, 40);
}

TEST(DemoScenes, StubSceneDiffersOnlyInItsCutter) {
  const Scene a = scene_of("bicycle-case"), b = scene_of("bicycle-case-stub");
  EXPECT_EQ(a.program_file, b.program_file);
  EXPECT_EQ(norm(a.sheet.low - b.sheet.low), 0);
  EXPECT_EQ(norm(a.sheet.high - b.sheet.high), 0);
  EXPECT_EQ(a.main_foam().name, b.main_foam().name);
  EXPECT_EQ(a.cutters.front().diameter_mm, b.cutters.front().diameter_mm);
  EXPECT_EQ(a.cutters.front().flute_length_mm, 22);
  EXPECT_EQ(b.cutters.front().flute_length_mm, 6.35);
}

// Words of the programs carry 0.0001 mm, so a wall stands where it was drawn to 0.001 mm.
TEST(DemoScenes, WebsOfTheToolCaseAreAsThickAsDrawn) {
  const Cut cut = cut_of("bicycle-case", 0.5);
  const double drawn[] = {6, 8, 10, 12, 14, 16, 18, 30};
  const double slot_width[] = {20, 20, 20, 22, 22, 20, 16, 28};
  double x = 18;
  for (int i = 0; i < 8; ++i) {
    EXPECT_NEAR(web_mm(cut.record, {x + slot_width[i] / 2, 78, -15}), drawn[i], 0.001) << "web " << i + 1;
    x += slot_width[i] + drawn[i];
  }
  const Span shallow = cut.record.look({51, 190, -3}, {0, 1}, 60, cut.record.end());
  EXPECT_NEAR(shallow.thickness_mm, 4, 0.001);
}

TEST(DemoScenes, PocketsOfTheToolCaseAreClearedAndKeepTheirPostsAndFloors) {
  const Cut cut = cut_of("bicycle-case", 0.5);
  const auto top = [&](double x, double y) { return cut.record.top_mm({x, y}, cut.record.end()); };
  EXPECT_NEAR(top(28, 78), -25.4, 1e-6);    // a tyre lever
  EXPECT_NEAR(top(256, 78), -28, 1e-6);     // pump, the deepest
  EXPECT_NEAR(top(317, 35), -25.4, 1e-6);   // elbow of the chain tool's L
  EXPECT_NEAR(top(51, 185), -4.5, 1e-6);    // patch kit
  EXPECT_NEAR(top(214, 175), -15, 1e-6);    // a bit
  EXPECT_NEAR(top(346, 246), -22, 1e-6);    // spare tube, between its posts
  EXPECT_NEAR(top(328, 222), -19.05, 1e-6); // cassette tool, beside its post
  for (const Vec2 post : {Vec2{144, 215}, Vec2{328, 197}, Vec2{320, 258}, Vec2{372, 258}})
    EXPECT_EQ(top(post.x, post.y), 0) << post.x;
  double deepest = 0;
  for (const Move& move : cut.path.moves)
    deepest = std::min(deepest, move.to.z);
  EXPECT_LE(cut.scene.sheet.low.z + 10, deepest) << "less than 10 mm of floor";
}

TEST(DemoScenes, CombHasItsWallsOnAFoamFloor) {
  const double walls[] = {3, 4, 5, 6, 8, 10, 12, 14, 16, 17, 18, 19, 20, 21, 22, 25, 30};
  for (const std::string name : {"comb", "comb-built-in"}) {
    const Cut cut = cut_of(name, 1);
    double x = 40 + 6; // the middle of the first slot
    for (const double wall : walls) {
      EXPECT_NEAR(web_mm(cut.record, {x, 104, -12}), wall, 0.001) << name;
      EXPECT_NEAR(cut.record.top_mm({x, 104}, cut.record.end()), -25, 1e-6) << name;
      x += 12 + wall;
    }
    // Beyond the walls' ends: air in a channel, or the thick stock they run into.
    const double beyond = cut.record.top_mm({40 + 12 + 1.5, 158}, cut.record.end());
    EXPECT_NEAR(beyond, name == "comb" ? -25 : 0, 1e-6) << name;
    EXPECT_EQ(cut.scene.sheet.low.z, -50);
  }
}

} // namespace
} // namespace snagmap
