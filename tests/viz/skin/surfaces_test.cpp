// Surfaces against closed forms: shapes of school geometry, described to the mesher as foam fields.
#include "viz/skin/surfaces.hpp"

#include "tests/viz/mesh_checks.hpp"
#include "tests/viz/preview_fixture.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

using namespace snagmap;

namespace {

/// Distance of a plan point to the edge of an opening; negative in air.
using Opening = std::function<double(Vec2 p, double z)>;

/// A block with air where the opening is negative, between two heights.
FoamField block_with(Box3 box, double cell, double low, double high, const Opening& opening, bool upright) {
  FoamField field;
  field.box = box;
  for (double x = box.low.x + cell / 2; x < box.high.x; x += cell)
    field.xs_mm.push_back(x);
  for (double y = box.low.y + cell / 2; y < box.high.y; y += cell)
    field.ys_mm.push_back(y);
  field.upright_walls = field.level_floors = upright;
  if (upright) {
    field.levels_mm = {box.low.z - 1, 0.5 * (box.low.z + low), 0.5 * (low + high), box.high.z + 1};
  } else {
    for (double z = box.low.z - cell / 2; z < box.high.z + cell; z += cell)
      field.levels_mm.push_back(z);
  }
  field.gap = [opening](Vec3 from, Vec2 dir, double cap) {
    // Sphere tracing: the distance to the edge never passes it.
    double t = 0;
    for (int i = 0; i < 2000 && t < cap; ++i) {
      const double free = -opening({from.x + t * dir.x, from.y + t * dir.y}, from.z);
      if (free < 1e-10)
        return t;
      t += free;
    }
    return cap;
  };
  return field;
}

FoamField upright_block(Box3 box, double cell, double floor, const Opening& opening) {
  FoamField field = block_with(box, cell, floor, box.high.z, opening, true);
  field.column = [=](Vec2 p) {
    return opening(p, 0) < 0 ? std::vector<Slab>{{box.low.z, floor}}
                             : std::vector<Slab>{{box.low.z, box.high.z}};
  };
  return field;
}

Mesh skin_of(const FoamField& field, int tile = 1000) {
  const int nx = static_cast<int>(field.xs_mm.size()) + 1, ny = static_cast<int>(field.ys_mm.size()) + 1;
  std::vector<SkinTile> parts;
  for (int y = 0; y < ny; y += tile)
    for (int x = 0; x < nx; x += tile)
      parts.push_back(skin_tile(field, {x, std::min(x + tile, nx), y, std::min(y + tile, ny)}));
  return joined(parts);
}

double stadium(Vec2 p, Vec2 a, Vec2 b, double radius) {
  const Vec2 ab = b - a;
  const double t = std::clamp(dot(p - a, ab) / dot(ab, ab), 0.0, 1.0);
  return norm(p - a - t * ab) - radius;
}
double round_box(Vec2 p, Vec2 half, double radius) {
  const Vec2 q{std::abs(p.x) - half.x + radius, std::abs(p.y) - half.y + radius};
  return norm(Vec2{std::max(q.x, 0.0), std::max(q.y, 0.0)}) + std::min(std::max(q.x, q.y), 0.0) - radius;
}
double box_area(Box3 b) {
  const Vec3 d = b.high - b.low;
  return 2 * (d.x * d.y + d.y * d.z + d.z * d.x);
}
double box_volume(Box3 b) {
  const Vec3 d = b.high - b.low;
  return d.x * d.y * d.z;
}
const Box3 kBlock{{-30, -25, -20}, {30, 25, 0}};

} // namespace

TEST(Surfaces, ABlockIsExact) {
  const Mesh mesh = skin_of(upright_block(kBlock, 1, -10, [](Vec2, double) { return 1.0; }));
  expect_closed_manifold(mesh);
  EXPECT_NEAR(volume_mm3(mesh), box_volume(kBlock), 1e-6);
  EXPECT_NEAR(area_mm2(mesh), box_area(kBlock), 1e-6);
}

TEST(Surfaces, SlotsAtAnyAngleHaveTheirAreaAndVolumeWithinHalfAPercentAtTwentyVoxels) {
  // Slot of width 2r and length l between centres: plan area 2 r l + pi r^2, rim 2 l + 2 pi r.
  const double r = 5, l = 20, depth = 10, cell = 0.5;
  for (const double turn : {0.0, 17.0, 30.0, 45.0, 71.0}) {
    const Vec2 a = (l / 2) * Vec2{std::cos(turn * M_PI / 180), std::sin(turn * M_PI / 180)};
    const Mesh mesh = skin_of(
        upright_block(kBlock, cell, -depth, [=](Vec2 p, double) { return stadium(p, a, -1.0 * a, r); }));
    expect_closed_manifold(mesh);
    const double removed = depth * (2 * r * l + M_PI * r * r), walls = depth * (2 * l + 2 * M_PI * r);
    EXPECT_NEAR(box_volume(kBlock) - volume_mm3(mesh), removed, 0.005 * removed) << turn;
    EXPECT_NEAR(area_mm2(mesh) - box_area(kBlock), walls, 0.005 * walls) << turn;
  }
}

TEST(Surfaces, FloorsInLargeTrianglesAreTheSameBody) {
  // Pockets at several angles so that walls pass close to the blocks' edges, and tiles that cut through all
  // of it.
  for (const double turn : {0.0, 11.0, 30.0, 45.0}) {
    const Vec2 a = 14.0 * Vec2{std::cos(turn * M_PI / 180), std::sin(turn * M_PI / 180)};
    FoamField field =
        upright_block(kBlock, 0.5, -10, [=](Vec2 p, double) { return stadium(p, a, -1.0 * a, 9.3); });
    for (const int tile : {48, 33}) {
      field.keep_fine = {};
      const Mesh fine = skin_of(field, tile);
      field.keep_fine = [](Vec2, Vec2) { return false; };
      const Mesh coarse = skin_of(field, tile);
      expect_closed_manifold(coarse);
      // Rounding alone: sums of some ten thousand terms of 1e5.
      EXPECT_NEAR(volume_mm3(coarse), volume_mm3(fine), 1e-6);
      EXPECT_NEAR(area_mm2(coarse), area_mm2(fine), 1e-6);
      EXPECT_LT(coarse.triangles.size(), fine.triangles.size());
      field.keep_fine = [](Vec2 low, Vec2) { return low.x < 0; };
      const Mesh half = skin_of(field, tile);
      expect_closed_manifold(half);
      EXPECT_NEAR(volume_mm3(half), volume_mm3(fine), 1e-6);
      EXPECT_GT(half.triangles.size(), coarse.triangles.size());
    }
  }
  // A plain block: six by five squares of 16 cells fit its 120 by 100 columns from the sixteenth on, above
  // and below; each has 64 triangles instead of 512.
  FoamField plain = upright_block(kBlock, 0.5, -10, [](Vec2, double) { return 1.0; });
  const std::size_t all = skin_of(plain).triangles.size();
  plain.keep_fine = [](Vec2, Vec2) { return false; };
  EXPECT_EQ(all - skin_of(plain).triangles.size(), 6u * 5 * 2 * (512 - 64));
}

TEST(Surfaces, PlaneWallsLieWithinATwentiethOfAVoxel) {
  const double cell = 0.5, turn = 23 * M_PI / 180;
  const Vec2 along{std::cos(turn), std::sin(turn)}, across = left_of(along);
  const Mesh mesh = skin_of(upright_block(
      kBlock, cell, -10, [=](Vec2 p, double) { return stadium(p, 12.0 * along, -12.0 * along, 6); }));
  double worst = 0;
  int seen = 0;
  for (const Triangle& t : mesh.triangles) {
    const Vec3 normal = unit(area_vector(mesh, t));
    if (std::abs(normal.z) > 0.5)
      continue; // a floor
    for (const std::uint32_t v : t) {
      const Vec3 p = mesh.points[v];
      if (std::abs(dot(xy(p), along)) > 11 || norm(xy(p)) > 14)
        continue; // the slot's round ends, the block's sides
      worst = std::max(worst, std::abs(std::abs(dot(xy(p), across)) - 6));
      ++seen;
    }
  }
  EXPECT_GT(seen, 100);
  EXPECT_LT(worst, 0.05 * cell);
}

TEST(Surfaces, PocketsKeepSharpRimsAndFloors) {
  const Vec2 half{15, 9};
  const double r = 3.175, depth = 12, cell = 2 * r / 20;
  const Mesh mesh =
      skin_of(upright_block(kBlock, cell, -depth, [=](Vec2 p, double) { return round_box(p, half, r); }), 48);
  expect_closed_manifold(mesh);
  const double plan = 4 * half.x * half.y - (4 - M_PI) * r * r,
               rim = 4 * (half.x + half.y) - (8 - 2 * M_PI) * r;
  EXPECT_NEAR(box_volume(kBlock) - volume_mm3(mesh), plan * depth, 0.005 * plan * depth);
  EXPECT_NEAR(area_mm2(mesh) - box_area(kBlock), rim * depth, 0.005 * rim * depth);
  // Sharp: a vertex near the wall of the floor lies on the wall itself, so no chamfer is left at the foot.
  for (const Vec3& p : mesh.points)
    if (std::abs(p.z + depth) < 1e-6 && std::abs(p.y) < half.y - 2 * r && p.x > 0) {
      EXPECT_LE(p.x, half.x + 1e-6);
    }
  const auto at_foot = std::count_if(mesh.points.begin(), mesh.points.end(), [&](Vec3 p) {
    return std::abs(p.z + depth) < 1e-6 && std::abs(p.x - half.x) < 1e-6 && std::abs(p.y) < half.y - r;
  });
  EXPECT_GE(at_foot, static_cast<long>(2 * (half.y - r) / cell) - 2);
}

TEST(Surfaces, SpheresHaveTheirAreaAndVolumeWithinHalfAPercentAtTwentyVoxels) {
  const double r = 10, cell = 1;
  const Vec3 centre{0.3, -0.2, -10.1};
  const Box3 block{{-20, -20, -25}, {20, 20, 5}};
  const Opening ball = [=](Vec2 p, double z) {
    const double flat = r * r - (z - centre.z) * (z - centre.z);
    return flat <= 0 ? 1.0 : norm(p - xy(centre)) - std::sqrt(flat);
  };
  FoamField field = block_with(block, cell, 0, 0, ball, false);
  field.column = [=](Vec2 p) {
    const double tall = r * r - dot(p - xy(centre), p - xy(centre));
    if (tall <= 0)
      return std::vector<Slab>{{block.low.z, block.high.z}};
    return std::vector<Slab>{{block.low.z, centre.z - std::sqrt(tall)},
                             {centre.z + std::sqrt(tall), block.high.z}};
  };
  const Mesh mesh = skin_of(field, 17);
  expect_closed_manifold(mesh);
  const double volume = 4 * M_PI * r * r * r / 3, area = 4 * M_PI * r * r;
  EXPECT_NEAR(box_volume(block) - volume_mm3(mesh), volume, 0.005 * volume);
  EXPECT_NEAR(area_mm2(mesh) - box_area(block), area, 0.005 * area);
}

TEST(Surfaces, AnyPatternOfFoamGivesAClosedManifold) {
  // Foam at random: every corner pattern of a cell, alternating faces on both sides included.
  for (const unsigned seed : {1u, 2u, 3u}) {
    std::mt19937 random(seed);
    FoamField field = block_with(
        {{0, 0, 0}, {24, 24, 8}}, 1, 0, 0, [](Vec2, double) { return 0.0; }, false);
    std::vector<std::vector<Slab>> columns(24 * 24);
    for (auto& column : columns)
      for (int k = 0; k < 8; ++k)
        if (random() % 2)
          column.push_back({k + 0.0, k + 1.0});
    field.column = [&](Vec2 p) {
      return columns[static_cast<std::size_t>(p.y) * 24 + static_cast<std::size_t>(p.x)];
    };
    field.gap = [](Vec3, Vec2, double cap) { return cap / 2; };
    for (const int tile : {1000, 7}) {
      SCOPED_TRACE(seed * 10000 + static_cast<unsigned>(tile));
      expect_closed_manifold(skin_of(field, tile));
    }
  }
}

TEST(Surfaces, TilesMakeTheSameSkinAsOnePiece) {
  const FoamField field = upright_block(kBlock, 0.7, -9, [](Vec2 p, double) {
    return stadium(p, {-8, -5}, {9, 6}, 4);
  });
  const Mesh one = skin_of(field), many = skin_of(field, 11);
  ASSERT_EQ(one.triangles.size(), many.triangles.size());
  EXPECT_NEAR(volume_mm3(one), volume_mm3(many), 1e-9 * box_volume(kBlock));
  const auto sorted = [](Mesh m) {
    std::sort(m.points.begin(), m.points.end(),
              [](Vec3 a, Vec3 b) { return std::tie(a.x, a.y, a.z) < std::tie(b.x, b.y, b.z); });
    return m.points;
  };
  const auto a = sorted(one), b = sorted(many);
  ASSERT_EQ(a.size(), b.size());
  for (std::size_t i = 0; i < a.size(); ++i) {
    ASSERT_EQ(a[i].x, b[i].x);
    ASSERT_EQ(a[i].y, b[i].y);
    ASSERT_EQ(a[i].z, b[i].z);
  }
}

TEST(Skin, ACutPocketHasItsVolumeAndTheSkinFollowsTheMoment) {
  const Preview preview = fixture_preview();
  const Skin skin(preview, {});
  const Moment end = preview.record->end();
  const Mesh mesh = skin.whole(end);
  expect_closed_manifold(mesh);
  // Two pockets 32 x 40 with corners of the cutter's radius, 24 deep.
  const double r = 3.175, plan = 32 * 40 - (4 - M_PI) * r * r, removed = 2 * plan * kFixtureDepth_mm;
  EXPECT_NEAR(box_volume(preview.scene.sheet) - volume_mm3(mesh), removed, 0.005 * removed);
  const Mesh before = skin.whole(0);
  EXPECT_NEAR(volume_mm3(before), box_volume(preview.scene.sheet), 1e-6 * box_volume(preview.scene.sheet));
}

TEST(Skin, OnlyTheTilesPassedBetweenTwoMomentsChange) {
  const Preview preview = fixture_preview();
  SkinOptions options;
  options.tile_cells = 16;
  const Skin skin(preview, options);
  const Moment a = 40, b = 60;
  std::vector<SkinTile> tiles;
  for (int i = 0; i < skin.tiles(); ++i)
    tiles.push_back(skin.tile(i, a));
  const std::vector<int> changed = skin.changed(a, b);
  EXPECT_LT(static_cast<int>(changed.size()), skin.tiles() / 2);
  for (const int i : changed)
    tiles[static_cast<std::size_t>(i)] = skin.tile(i, b);
  const Mesh moved = joined(tiles), fresh = skin.whole(b);
  EXPECT_NE(volume_mm3(moved), volume_mm3(skin.whole(a)));
  EXPECT_EQ(volume_mm3(moved), volume_mm3(fresh));
  expect_closed_manifold(moved);
}
