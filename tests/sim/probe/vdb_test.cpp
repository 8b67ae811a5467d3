// Sheets to start from and volumes to hand on. OpenVDB's own reader and closed forms are the outside check.
#include "sim/probe/vdb.hpp"
#include "sim/probe/volumes.hpp"
#include "sim/stock/shape.hpp"
#include "tests/sim/record_fixture.hpp"

#include <openvdb/io/File.h>
#include <openvdb/openvdb.h>
#include <openvdb/tools/Interpolation.h>
#include <openvdb/tools/LevelSetMeasure.h>

#include <filesystem>
#include <fstream>

using namespace snagmap;
using namespace snagmap::testing;

namespace {

/// A block with a square pocket from above, sides turned by `turn` about the pocket's middle: 16 points, 28
/// triangles.
StockShape block_with_pocket(double turn, double floor_z) {
  std::vector<Vec3> p;
  for (double z : {-30.0, 0.0})
    for (Vec2 c : {Vec2{0, 0}, {60, 0}, {60, 50}, {0, 50}})
      p.push_back({c.x, c.y, z});
  for (double z : {floor_z, 0.0})
    for (Vec2 c : {Vec2{-10, -10}, {10, -10}, {10, 10}, {-10, 10}})
      p.push_back({30 + c.x * std::cos(turn) - c.y * std::sin(turn),
                   25 + c.x * std::sin(turn) + c.y * std::cos(turn), z});
  std::vector<std::array<std::uint32_t, 3>> t;
  const auto quad = [&t](std::uint32_t a, std::uint32_t b, std::uint32_t c, std::uint32_t d) {
    t.push_back({a, b, c});
    t.push_back({a, c, d});
  };
  quad(3, 2, 1, 0);
  quad(8, 9, 10, 11);
  for (std::uint32_t k = 0; k < 4; ++k) {
    const std::uint32_t n = (k + 1) % 4;
    quad(k, n, 4 + n, 4 + k);
    quad(8 + n, 8 + k, 12 + k, 12 + n);
    quad(4 + k, 4 + n, 12 + n, 12 + k);
  }
  auto stock = stock_from_mesh(p, t);
  if (!stock)
    throw std::runtime_error(to_text(stock.faults()[0]));
  return *stock;
}

RemovalRecord cut_stock(const StockShape& stock, const Path& path, double voxel) {
  CutOptions options;
  options.voxel_mm = voxel;
  auto record = RemovalRecord::cut(stock, {flat_cutter(6, 25)}, path, options);
  if (!record)
    throw std::runtime_error(to_text(record.faults()[0]));
  return std::move(*record);
}

class StockFiles : public ::testing::Test {
protected:
  StockFiles()
      : folder_(std::filesystem::temp_directory_path() / ("snagmap_stock_" + std::to_string(::getpid()))) {
    std::filesystem::create_directories(folder_);
    openvdb::initialize();
  }
  ~StockFiles() override { std::filesystem::remove_all(folder_); }
  std::string name(const char* file) const { return (folder_ / file).string(); }
  template <class Grid> typename Grid::Ptr read(const std::string& file, const char* grid) {
    openvdb::io::File in(file);
    in.open(false);
    return openvdb::gridPtrCast<Grid>(in.readGrid(grid));
  }
  std::filesystem::path folder_;
};

const Path kTwoSlots =
    path_of({line({-5, 20.1, -10}, {65, 20.1, -10}), line({20.3, 10, -20}, {47.7, 33, -20}),
             arc({40, 35, -15}, {32, 35}, 2 * kPi)});

} // namespace

TEST(Stock, VolumeOfAMeshMatchesClosedForm) {
  EXPECT_NEAR(volume_mm3(block_with_pocket(0.3, -12)), 60 * 50 * 30 - 20 * 20 * 12, 1e-6);
  EXPECT_EQ(volume_mm3({{{0, 0, 0}, {2, 3, 4}}}), 24);
}

TEST(Stock, PocketsOfTheMeshAreThereBeforeTheFirstMove) {
  const double turn = 0.3, voxel = 0.5;
  const auto record =
      cut_stock(block_with_pocket(turn, -12), path_of({line({-10, 25, -5}, {70, 25, -5})}), voxel);
  EXPECT_FALSE(record.solid({30, 25, -6}, 0));
  EXPECT_TRUE(record.solid({30, 25, -13}, 0));
  EXPECT_TRUE(record.solid({5, 25, -2}, 0));
  EXPECT_FALSE(record.solid({5, 25, -2}, 1));
  EXPECT_EQ(record.removed_by({30, 25, -6}), kNever) << "air that no move made";
  EXPECT_NEAR(record.top_mm({30, 25}, 0), -12, 1e-5);
  // The slot of 60 x 6 x 5 less the part that was air: the pocket's width along the slot is 20 / cos on
  // average.
  const double air = 6 * 20 / std::cos(turn) * 5;
  EXPECT_NEAR(removed_mm3(record)[0], 60 * 6 * 5 - air, 0.5 * voxel * (2 * 60 + 2 * 7 + 20) * 5);
}

TEST(Stock, WallsOfTheMeshAreExact) {
  const double turn = 0.3;
  const auto record =
      cut_stock(block_with_pocket(turn, -12), path_of({line({-10, 8, -5}, {70, 8, -5})}), 0.5);
  for (double off : {-6.0, -1.7, 0.0, 3.3, 7.9}) {
    const Vec2 u{std::cos(turn), std::sin(turn)}, v = left_of(u);
    const Vec2 eye = Vec2{30, 25} + off * v;
    const Span span = record.look({eye.x, eye.y, -6}, u, 60, 1);
    ASSERT_TRUE(span.hit && span.through);
    EXPECT_NEAR(span.gap_mm, 10, 0.01 * 0.5);
    EXPECT_NEAR(span.gap_mm + span.thickness_mm, (60 - eye.x) / u.x, 0.01 * 0.5)
        << "to the side of the sheet";
  }
  // A web between the pocket and a slot: from the slot at y = 11 to the pocket's lower side.
  const Span web = record.look({30, 9, -3}, {0, 1}, 40, 1);
  ASSERT_TRUE(web.hit && web.through);
  EXPECT_NEAR(web.gap_mm, 2, 1e-6);
  EXPECT_NEAR(web.thickness_mm, 25 - 10 / std::cos(turn) - 11, 0.01 * 0.5);
}

// What the finite elements ask: rays that begin outside, on a side, or behind it.
TEST(Stock, RaysMayBeginAnywhere) {
  const auto mesh = cut_stock(block_with_pocket(0, -12), path_of({line({-10, 8, -5}, {70, 8, -5})}), 0.5);
  // The same stock as walls: sheet y 0..50, slot 5..11 down to -5, pocket 15..35 down to -12, x 20..40.
  struct Foam {
    double low, high;
  };
  const auto foam_at = [](double x, double z) {
    std::vector<Foam> foam{{0, 50}};
    const auto take = [&](double low, double high) {
      const Foam last = foam.back();
      foam.back() = {last.low, low};
      foam.push_back({high, last.high});
    };
    if (z >= -5)
      take(5, 11);
    if (z >= -12 && x > 20 && x < 40)
      take(15, 35);
    return foam;
  };
  for (double x : {10.2, 30.03, 39.9})
    for (double z : {-29.9999, -20.2, -11.9, -5.1, -1.0})
      for (double y : {-20.0, -0.1, 0.0, 0.1, 5.0, 8.0, 11.0, 13.0, 15.0, 25.0, 35.0, 40.0, 50.0, 60.0})
        for (double way : {1.0, -1.0}) {
          double gap = 100, thickness = 0;
          for (const Foam& foam : foam_at(x, z)) {
            const double near = way > 0 ? foam.low - y : y - foam.high,
                         far = way > 0 ? foam.high - y : y - foam.low;
            if (far > 1e-9 && std::max(near, 0.0) < gap)
              gap = std::max(near, 0.0), thickness = far - gap;
          }
          const Span span = mesh.look({x, y, z}, {0, way}, 100, 1);
          EXPECT_NEAR(span.gap_mm, gap, 1e-6) << x << ' ' << y << ' ' << z << ' ' << way;
          EXPECT_NEAR(span.thickness_mm, thickness, 1e-6) << x << ' ' << y << ' ' << z << ' ' << way;
        }
}

TEST(Stock, OpenOrEmptyMeshesAreRefused) {
  StockShape good = block_with_pocket(0, -12);
  auto open = good.triangles;
  open.pop_back();
  const auto refused = stock_from_mesh(good.points, open);
  ASSERT_FALSE(refused);
  EXPECT_NE(refused.faults()[0].what.find("3 open edges"), std::string::npos) << refused.faults()[0].what;
  EXPECT_FALSE(stock_from_mesh({}, {}));
  EXPECT_FALSE(stock_from_mesh({{0, 0, 0}}, {{0, 1, 2}}));
  EXPECT_FALSE(stock_from_mesh({{0, 0, 0}, {1, 0, 0}, {NAN, 1, 0}}, {{0, 1, 2}}));
}

TEST_F(StockFiles, MaskCountsTheVoxelsOfTheRecord) {
  const auto record = cut({{0, 0, -30}, {60, 50, 0}}, {flat_cutter(6, 12)}, kTwoSlots, 0.5);
  for (Moment t : {0u, 1u, 3u}) {
    const auto facts = write_stock_vdb(record, t, VdbForm::mask, name("m.vdb"));
    ASSERT_TRUE(facts) << to_text(facts.faults()[0]);
    const auto grid = read<openvdb::MaskGrid>(name("m.vdb"), "foam");
    std::size_t foam = 0, wrong = 0;
    for (int i = 0; i < 120; ++i)
      for (int j = 0; j < 100; ++j)
        for (int k = 0; k < 60; ++k) {
          const bool solid = record.solid({0.25 + 0.5 * i, 0.25 + 0.5 * j, -29.75 + 0.5 * k}, t);
          foam += solid;
          wrong += solid != grid->tree().isValueOn({i, j, k});
        }
    EXPECT_EQ(wrong, 0u);
    EXPECT_EQ(grid->activeVoxelCount(), foam);
    EXPECT_EQ(facts->foam_voxels, foam);
    const openvdb::Vec3d world = grid->indexToWorld(openvdb::Vec3d(0, 0, 0));
    EXPECT_NEAR(world.x(), 0.25, 1e-12);
    EXPECT_NEAR(world.z(), -29.75, 1e-12);
  }
}

TEST_F(StockFiles, LevelSetWallsLieWithinItsPromise) {
  const double h = 0.5;
  const auto record = cut({{0, 0, -30}, {60, 50, 0}}, {flat_cutter(6, 12)}, kTwoSlots, h);
  ASSERT_TRUE(write_stock_vdb(record, 3, VdbForm::level_set, name("l.vdb")));
  const auto grid = read<openvdb::FloatGrid>(name("l.vdb"), "foam");
  ASSERT_EQ(grid->getGridClass(), openvdb::GRID_LEVEL_SET);
  openvdb::tools::GridSampler<openvdb::FloatGrid, openvdb::tools::BoxSampler> sample(*grid);
  const auto at = [&](double x, double y, double z) { return sample.wsSample({x, y, z}); };
  // Plane walls of the first slot at y = 20.1 -+ 3, its floor at -10, and the sheet's top and sides.
  for (double x : {4.3, 9.1, 52.2, 56.7}) {
    EXPECT_NEAR(at(x, 17.1, -5.2), 0, 0.1 * h);
    EXPECT_NEAR(at(x, 23.1, -4.9), 0, 0.1 * h);
    EXPECT_NEAR(at(x, 20.4, -10), 0, 0.1 * h);
    EXPECT_NEAR(at(x, 45.3, 0), 0, 0.1 * h);
    EXPECT_NEAR(at(x, 50, -17.3), 0, 0.1 * h);
  }
  // Outer wall of the round slot, radius 8 + 3 about (32, 35), away from the slanting slot.
  for (double phi = 0.3; phi < 2.8; phi += 0.1)
    EXPECT_NEAR(at(32 + 11 * std::cos(phi), 35 + 11 * std::sin(phi), -8.1), 0, 0.2 * h) << phi;
  // Two voxels off a wall the distance itself is right.
  EXPECT_NEAR(at(9.1, 16.1, -5.2), -1.0, 0.1 * h);
  EXPECT_NEAR(at(9.1, 24.1, -5.2), -1.0, 0.1 * h);
  const double volume = openvdb::tools::levelSetVolume(*grid);
  double foam = 60 * 50 * 30;
  for (double removed : removed_mm3(record))
    foam -= removed;
  EXPECT_NEAR(volume, foam, 0.002 * foam);
}

TEST_F(StockFiles, ASheetCanStartFromOurOwnLevelSet) {
  const auto first = cut({{0, 0, -30}, {60, 50, 0}}, {flat_cutter(6, 25)},
                         path_of({line({-5, 20.1, -10}, {65, 20.1, -10})}), 0.5);
  ASSERT_TRUE(write_stock_vdb(first, 1, VdbForm::level_set, name("l.vdb")));
  const auto stock = read_stock_vdb(name("l.vdb"));
  ASSERT_TRUE(stock) << to_text(stock.faults()[0]);
  const auto second = cut_stock(*stock, path_of({line({-5, 40, -10}, {65, 40, -10})}), 0.5);
  const Span web = second.look({30, 20.1, -5}, {0, 1}, 40, 1);
  ASSERT_TRUE(web.hit && web.through);
  EXPECT_NEAR(web.gap_mm, 3, 0.1 * 0.5);
  EXPECT_NEAR(web.thickness_mm, 40 - 3 - 23.1, 0.1 * 0.5);
}

TEST_F(StockFiles, ForeignAndDamagedVolumesAreRefused) {
  const auto record = cut({{0, 0, -30}, {60, 50, 0}}, {flat_cutter(6, 25)}, kTwoSlots, 1.0);
  ASSERT_TRUE(write_stock_vdb(record, 1, VdbForm::mask, name("m.vdb")));
  EXPECT_FALSE(read_stock_vdb(name("m.vdb"))) << "a mask is no sheet to measure";
  ASSERT_TRUE(write_stock_vdb(record, 1, VdbForm::level_set, name("l.vdb")));
  {
    std::fstream file(name("l.vdb"), std::ios::in | std::ios::out | std::ios::binary);
    file.seekp(300);
    file.put('x');
    file.put('y');
  }
  EXPECT_EQ(read_stock_vdb(name("l.vdb")).faults()[0].what, "the volume is damaged: its checksum differs");
  auto foreign = openvdb::FloatGrid::create(1.0f);
  foreign->setName("foam");
  openvdb::io::File(name("f.vdb")).write({foreign});
  EXPECT_EQ(read_stock_vdb(name("f.vdb")).faults()[0].what, "the volume was not written by this program");
  EXPECT_FALSE(read_stock_vdb(name("none.vdb")));
}

TEST_F(StockFiles, RecordVolumeHoldsTheFirstMoves) {
  const auto record = cut({{0, 0, -30}, {60, 50, 0}}, {flat_cutter(6, 12)}, kTwoSlots, 1.0);
  ASSERT_TRUE(write_record_vdb(record, name("r.vdb")));
  const auto moves = read<openvdb::Int32Grid>(name("r.vdb"), "removed_by");
  ASSERT_TRUE(read<openvdb::FloatGrid>(name("r.vdb"), "foam"));
  std::size_t wrong = 0, removed = 0;
  for (int i = 0; i < 60; ++i)
    for (int j = 0; j < 50; ++j)
      for (int k = 0; k < 30; ++k) {
        const std::uint32_t move = record.removed_by({i + 0.5, j + 0.5, k - 29.5});
        removed += move != kNever;
        wrong += moves->tree().getValue({i, j, k}) != static_cast<int>(move);
      }
  EXPECT_EQ(wrong, 0u);
  EXPECT_GT(removed, 1000u);
}
