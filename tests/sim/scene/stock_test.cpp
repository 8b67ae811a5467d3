// A scene whose sheet is a solid: where it lies, what it excludes, and what is said of a broken one. The
// reader of mesh files stands above sim, so a mesh made here takes its place.
#include "sim/probe/vdb.hpp"
#include "sim/scene/scene.hpp"
#include "sim/stock/shape.hpp"

#include <filesystem>
#include <fstream>
#include <gtest/gtest.h>
#include <unistd.h>

using namespace snagmap;
namespace fs = std::filesystem;

namespace {

std::string all_of(const std::vector<Fault>& faults) {
  std::string text;
  for (const Fault& fault : faults)
    text += to_text(fault) + "\n";
  return text;
}

/// A box from `low`, 120 x 80 x 30 in the file's unit; `open`: without its top.
MeshFile box_mesh(Vec3 low, bool open = false) {
  MeshFile mesh;
  for (int n = 0; n < 8; ++n)
    mesh.points.push_back(low + Vec3{n & 1 ? 120.0 : 0, n & 2 ? 80.0 : 0, n & 4 ? 30.0 : 0});
  mesh.triangles = {{0, 2, 3}, {0, 3, 1}, {0, 1, 5}, {0, 5, 4}, {2, 6, 7}, {2, 7, 3},
                    {0, 4, 6}, {0, 6, 2}, {1, 3, 7}, {1, 7, 5}, {4, 5, 7}, {4, 7, 6}};
  if (open)
    mesh.triangles.resize(10);
  return mesh;
}

class SceneStock : public ::testing::Test {
protected:
  void SetUp() override {
    folder = fs::path(::testing::TempDir()) / ("scene_stock_" + std::to_string(getpid()));
    fs::create_directories(folder);
    for (const char* name : {"part.nc", "block.stl"})
      std::ofstream(folder / name) << "\n";
  }
  void TearDown() override { fs::remove_all(folder); }
  Outcome<Scene> read(const std::string& sheet, MeshFile mesh,
                      const std::string& foam = "foam = \"pu-22\"\n") const {
    return parse_scene("program = \"part.nc\"\n" + foam +
                           "cutter = { diameter = \"6 mm\", flute_length = \"22 mm\" }\n[sheet]\n" + sheet,
                       "s.toml", folder.string(),
                       {[mesh](const std::string&) { return mesh; }, read_stock_vdb});
  }
  fs::path folder;
};

} // namespace

TEST_F(SceneStock, LiesWhereItsOwnCoordinatesPutIt) {
  const auto scene = read("stock = \"block.stl\"\n", box_mesh({-20, -10, -30}));
  ASSERT_TRUE(scene) << all_of(scene.faults());
  EXPECT_EQ(scene->sheet.low.x, -20);
  EXPECT_EQ(scene->sheet.high.y, 70);
  EXPECT_EQ(scene->sheet.low.z, -30);
  EXPECT_EQ(scene->sheet.high.z, 0);
  EXPECT_TRUE(scene->sheet_given && scene->thickness_given);
  EXPECT_FALSE(scene->zero_on_table);
  EXPECT_EQ(scene->layers.front().thickness_mm, 30);
  EXPECT_EQ(volume_mm3(stock_of(*scene)), 120 * 80 * 30);
  EXPECT_EQ(scene->stock_file, (folder / "block.stl").string());
  Scene settled = *scene;
  Path path;
  path.moves.resize(1);
  path.moves[0].from = {0, 0, 5}, path.moves[0].to = {30, 0, -20};
  settle_sheet(settled, path); // the program's extents leave a solid alone
  EXPECT_EQ(settled.sheet.high.x, 100);
}

TEST_F(SceneStock, ZeroAndUnitMoveAndScaleIt) {
  const auto scene = read("stock = \"block.stl\"\nstock_unit = \"inch\"\nzero = \"upper right\"\nzero_on = "
                          "\"table\"\nthickness_spread = \"1 mm\"\n",
                          [] {
                            MeshFile mesh = box_mesh({1, 2, 3});
                            for (Vec3& p : mesh.points)
                              p = 0.1 * p;
                            return mesh;
                          }());
  ASSERT_TRUE(scene) << all_of(scene.faults());
  const double inch = 25.4; // NIST Special Publication 811
  EXPECT_NEAR(scene->sheet.low.x, -12 * inch, 1e-9);
  EXPECT_NEAR(scene->sheet.high.x, 0, 1e-9);
  EXPECT_NEAR(scene->sheet.high.y, 0, 1e-9);
  EXPECT_NEAR(scene->sheet.low.z, 0, 1e-9);
  EXPECT_NEAR(scene->sheet.high.z, 3 * inch, 1e-9);
  const StockShape stock = stock_of(*scene);
  EXPECT_EQ(stock.box.low.x, scene->sheet.low.x);
  for (const Vec3& p : stock.points)
    EXPECT_TRUE(p.x < 1e-9 && p.y < 1e-9 && p.z > -1e-9);
}

TEST_F(SceneStock, LayersMustFillIt) {
  const std::string layers =
      "layers = [{ foam = \"pu-22\", thickness = \"10 mm\" }, { foam = \"pe-32\", thickness = \"";
  const auto fits = read("stock = \"block.stl\"\n" + layers + "20 mm\" }]\n", box_mesh({0, 0, -30}), "");
  ASSERT_TRUE(fits) << all_of(fits.faults());
  EXPECT_EQ(fits->foam_at(-15).name, "pe-32");
  EXPECT_EQ(fits->foam_at(-25).name, "pu-22");
  const auto not_filled =
      read("stock = \"block.stl\"\n" + layers + "25 mm\" }]\n", box_mesh({0, 0, -30}), "");
  ASSERT_FALSE(not_filled);
  EXPECT_EQ(not_filled.faults()[0].what, "layers gives the sheet 35 mm, stock gives it 30 mm");
}

TEST_F(SceneStock, OpenMeshIsRefusedWithFilePlaceAndWayOut) {
  const auto scene = read("stock = \"block.stl\"\n", box_mesh({0, 0, 0}, true));
  ASSERT_FALSE(scene);
  EXPECT_EQ(all_of(scene.faults()),
            "s.toml:5:9: stock \"block.stl\": the sheet's mesh is not closed: 4 open edges, one at 0.000, "
            "40.000, 30.000 mm\n"
            "  stock = \"block.stl\"\n          ^\n  close the mesh, or give the sheet as a box\n");
}

TEST_F(SceneStock, MeshOfAnotherUnitIsNoticed) {
  MeshFile tiny = box_mesh({0, 0, 0});
  for (Vec3& p : tiny.points)
    p = (1 / 254.0) * p; // 12 x 8 x 3 cm told in inch by tenths
  const auto scene = read("stock = \"block.stl\"\n", tiny);
  ASSERT_FALSE(scene);
  EXPECT_NE(scene.faults()[0].what.find("allowed: 1 to 5000 mm in plan"), std::string::npos)
      << scene.faults()[0].what;
  EXPECT_EQ(scene.faults()[0].way_out, "is the mesh in inch? stock_unit = \"inch\"");
}

TEST_F(SceneStock, VolumesHaveTheirUnitAndForeignOnesAreRefused) {
  std::ofstream(folder / "v.vdb") << "nothing of ours";
  const auto scene = read("stock = \"v.vdb\"\nstock_unit = \"mm\"\n", {});
  ASSERT_FALSE(scene);
  EXPECT_EQ(scene.faults().size(), 2u) << all_of(scene.faults());
  EXPECT_NE(all_of(scene.faults()).find("stock \"v.vdb\": the volume was not written by this program"),
            std::string::npos);
}
