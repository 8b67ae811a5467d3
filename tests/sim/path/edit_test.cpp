// Rewritten programs: continuous, and cutting what they should.
#include "sim/path/edit.hpp"

#include "sim/hold/loose_pieces.hpp"
#include "sim/probe/volumes.hpp"
#include "sim/program/program.hpp"
#include "tests/sim/record_fixture.hpp"

#include <gtest/gtest.h>

#include <algorithm>

using namespace snagmap;

namespace {

const Box3 kSheet{{0, 0, -40}, {120, 80, 0}};

/// Two pockets, each in two passes of 8 mm with two loops a pass, and a ramp in.
Path two_pockets() {
  std::string nc = "G21 G90 G17\nM3 S18000\nG0 Z5\n";
  for (const double x : {10.0, 70.0})
    for (const double z : {-8.0, -16.0}) {
      nc += "G0 X" + std::to_string(x + 8) + " Y20\nG1 Z" + std::to_string(z + 8) + " F1500\nG1 Y40 Z" +
            std::to_string(z) + "\n";
      for (const double grow : {0.0, 5.0}) {
        const auto at = [&](double px, double py) {
          return "G1 X" + std::to_string(px) + " Y" + std::to_string(py) + " F3000\n";
        };
        nc += at(x + 8 - grow, 40 + grow) + at(x + 28 + grow, 40 + grow) + at(x + 28 + grow, 20 - grow) +
              at(x + 8 - grow, 20 - grow) + at(x + 8 - grow, 40 + grow);
      }
      nc += "G0 Z5\n";
    }
  const Outcome<Path> path = parse_program(nc + "M5\nM30\n", "two.nc", {});
  EXPECT_TRUE(path) << to_text(path.faults().front());
  return *path;
}

void expect_continuous(const Path& path) {
  for (std::size_t i = 1; i < path.moves.size(); ++i)
    ASSERT_LT(norm(path.moves[i].from - path.moves[i - 1].to), 2e-3) << "before move " << i;
}

RemovalRecord cut(const Path& path) {
  return snagmap::testing::cut(kSheet, {snagmap::testing::flat_cutter(6, 30)}, path, 1);
}

double removed_mm3(const Path& path) {
  return snagmap::testing::sum(removed_mm3(cut(path)));
}

std::size_t rapids_in_foam(const Path& path) {
  const RemovalRecord record = cut(path);
  return static_cast<std::size_t>(std::count_if(record.touches().begin(), record.touches().end(),
                                                [](const Touch& t) { return t.rapid; }));
}

} // namespace

TEST(PathEdit, LayersAreThePassesOfTheProgram) {
  const std::vector<PathLayer> layers = path_layers(two_pockets(), 0);
  ASSERT_EQ(layers.size(), 4u);
  for (std::size_t k = 0; k < 4; ++k) {
    EXPECT_NEAR(layers[k].level_mm, k % 2 ? -16 : -8, 1e-9);
    EXPECT_NEAR(layers[k].above_mm, k % 2 ? -8 : 0, 1e-9);
  }
}

// Whatever the order and depth of the passes, the same foam goes: the volume is that of the union of the same
// sweeps.
TEST(PathEdit, RewrittenProgramsCutTheSamePart) {
  const Path path = two_pockets();
  const double whole = removed_mm3(path);
  const auto check = [&](const Path& changed, const char* what) {
    expect_continuous(changed);
    EXPECT_NEAR(removed_mm3(changed), whole, 0.005 * whole) << what; // what volumes are right to
    EXPECT_EQ(rapids_in_foam(changed), 0u) << what;
  };
  check(*with_pass_depth(path, 0, 4), "half passes");
  check(*with_pass_depth(path, 0, 3), "third passes");
  check(with_order(path, 0, {2, 3}, 0), "second pocket first");
  check(with_order(path, 0, {3}, 1), "out of order");
  check(*with_finish_last(path, 0), "loops last");
  check(*with_loops_reversed(path, 0), "the other way round");
  check(with_feed(path, 0, 0.5), "slower");
  check(with_lifts(path, 0, {{5, 0.3}, {5, 0.7}, {9, 0.5}}), "lifts");
  check(with_holes(path, 0, {{5, 0.3}, {30, 0.5}}), "holes");
  check(*with_walls_first(path, 0), "walls first");
  check(*with_cross_cuts(path, 0, {{0, path.moves.size()}}, {6}, 15, 40), "cross-cuts");
}

TEST(PathEdit, TheLoopAlongTheWallComesFirstInItsLayer) {
  const Path path = two_pockets(), walls = *with_walls_first(path, 0);
  const std::vector<PathLayer> layers = path_layers(path, 0);
  // The last loop of the first layer opens the foam: its first cut stands before the layer's ramp.
  const auto position = [](const Path& way, Vec3 from, Vec3 to) {
    return std::find_if(way.moves.begin(), way.moves.end(),
                        [&](const Move& m) { return norm(m.from - from) < 1e-6 && norm(m.to - to) < 1e-6; }) -
           way.moves.begin();
  };
  const PathLoop wall = closed_loops(path, layers[0]).back();
  EXPECT_NEAR(std::abs(wall.area_mm2), 30 * 30, 1e-6);
  const Move &along = path.moves[wall.first], &ramp = path.moves[layers[0].first];
  EXPECT_LT(position(walls, along.from, along.to), position(walls, ramp.from, ramp.to));
  EXPECT_FALSE(with_walls_first(walls, 0)); // done already
}

TEST(PathEdit, CrossCutsLieOnlyBetweenNeighbouringWays) {
  const Path path = two_pockets();
  const std::size_t first = path_layers(path, 0)[0].first;
  const Path crossed = *with_cross_cuts(path, 0, {{first, first}}, {6}, 40, 40);
  // One slot in each direction through the middle of the first layer: two parts of 5 mm each, not through the
  // island.
  double added = 0;
  std::size_t slots = 0;
  for (const Move& move : crossed.moves)
    if (move.kind == MoveKind::line && std::abs(length_mm(move) - 5) < 1e-6 &&
        std::abs(move.to.z + 8) < 1e-9) {
      const Vec3 middle = 0.5 * (move.from + move.to);
      if (std::abs(middle.x - 28) < 1e-6 || std::abs(middle.y - 30) < 1e-6)
        ++slots, added += length_mm(move);
    }
  EXPECT_EQ(slots, 4u);
  EXPECT_NEAR(added, 20, 1e-6);
}

TEST(PathEdit, SmallerPassesAreEqualAndNoDeeperThanAsked) {
  const Path path = *with_pass_depth(two_pockets(), 0, 3);
  const std::vector<PathLayer> layers = path_layers(path, 0);
  ASSERT_EQ(layers.size(), 12u);
  for (const PathLayer& layer : layers)
    EXPECT_LE(layer.above_mm - layer.level_mm, 3 + 1e-9);
  EXPECT_FALSE(with_pass_depth(two_pockets(), 0, 8));
}

TEST(PathEdit, LiftsBreakTheEngagementWhereTheyStand) {
  const Path path = two_pockets(), lifted = with_lifts(path, 0, {{5, 0.5}});
  EXPECT_GT(lifted.moves.size(), path.moves.size());
  const auto rapid_up = std::count_if(lifted.moves.begin(), lifted.moves.end(), [](const Move& m) {
    return m.kind == MoveKind::rapid && m.to.z > m.from.z;
  });
  const auto before = std::count_if(path.moves.begin(), path.moves.end(), [](const Move& m) {
    return m.kind == MoveKind::rapid && m.to.z > m.from.z;
  });
  EXPECT_EQ(rapid_up, before + 1);
}

TEST(PathEdit, ReversedLoopsKeepTheirLengthAndTurnTheirHeading) {
  const Path path = two_pockets(), turned = *with_loops_reversed(path, 0);
  double a = 0, b = 0;
  for (const Move& move : path.moves)
    a += length_mm(move);
  for (const Move& move : turned.moves)
    b += length_mm(move);
  EXPECT_NEAR(a, b, 1e-9);
  double area = 0, other = 0;
  for (const PathLayer& layer : path_layers(path, 0))
    for (std::size_t i = layer.first; i < layer.last; ++i) {
      area += cross(xy(path.moves[i].from), xy(path.moves[i].to));
      other += cross(xy(turned.moves[i].from), xy(turned.moves[i].to));
    }
  EXPECT_LT(area * other, 0);
}

TEST(PathEdit, ASkinStaysOnTheTable) {
  const Path path = *with_skin(two_pockets(), -15.5);
  const RemovalRecord record = cut(path);
  EXPECT_NEAR(record.top_mm({30, 42}, record.end()), -15.5, 1e-6);
  EXPECT_FALSE(with_skin(two_pockets(), -16));
}

TEST(PathEdit, TabsKeepAPieceWithTheSheet) {
  std::string nc = "G21 G90 G17\nM3 S18000\nG0 Z5\nG0 X30 Y20\n";
  for (const double z : {-15.0, -30.0, -40.0})
    nc += "G1 Z" + std::to_string(z) + " F1500\nG1 X90 F3000\nG1 Y60\nG1 X30\nG1 Y20\n";
  const Path path = *parse_program(nc + "G0 Z5\nM30\n", "through.nc", {});
  const auto pieces = [](const Path& way) { return find_loose_pieces(run_grid(cut(way)), {}).pieces.size(); };
  EXPECT_EQ(pieces(path), 1u);
  const Path tabbed = *with_tabs(path, 0, -40, 4, 12, 3);
  expect_continuous(tabbed);
  EXPECT_EQ(pieces(tabbed), 0u);
  // Four bridges as wide as the way less the cutter (its round ends eat into them), as high as asked.
  EXPECT_GT(removed_mm3(path) - removed_mm3(tabbed), 4 * (12 - 6) * 6 * 3);
  EXPECT_LT(removed_mm3(path) - removed_mm3(tabbed), 4 * 12 * 6 * 3);
  EXPECT_FALSE(with_tabs(path, 0, -41, 4, 12, 3));
}
