// Loose pieces against a flood fill of every moment, and on small programs whose pieces can be worked out by
// hand.
#include "sim/hold/loose_pieces.hpp"
#include "tests/sim/record_fixture.hpp"

#include <tbb/global_control.h>

#include <algorithm>
#include <map>
#include <random>
#include <tuple>

namespace snagmap {
namespace {

using testing::cut;
using testing::flat_cutter;
using testing::line;
using testing::path_of;

/// A small stock of bricks, each with the move that removes it.
struct Bricks {
  int nx, ny, nz;
  std::vector<float> level; // nz + 1 heights, eighths of a millimetre: every volume is exact
  std::vector<std::uint32_t> move;
  std::uint32_t moves;
  std::size_t at(int i, int j, int k) const { return (static_cast<std::size_t>(j) * nx + i) * nz + k; }
};

Bricks random_bricks(std::mt19937& rng) {
  const auto upto = [&](int low, int high) { return std::uniform_int_distribution<int>(low, high)(rng); };
  Bricks b{upto(2, 8), upto(2, 7), upto(1, 5), {0.0f}, {}, static_cast<std::uint32_t>(upto(1, 14))};
  for (int k = 0; k < b.nz; ++k)
    b.level.push_back(b.level.back() + static_cast<float>(upto(1, 24)) / 8);
  const double stays = std::uniform_real_distribution<double>(0.1, 0.7)(rng);
  for (std::size_t n = 0; n < static_cast<std::size_t>(b.nx * b.ny * b.nz); ++n)
    b.move.push_back(std::bernoulli_distribution(stays)(rng)
                         ? kNever
                         : static_cast<std::uint32_t>(upto(0, static_cast<int>(b.moves) - 1)));
  return b;
}

RunGrid grid_of(const Bricks& b) {
  RunGrid grid;
  grid.nx = b.nx;
  grid.ny = b.ny;
  grid.dx_mm = 0.5;
  grid.dy_mm = 0.25;
  grid.top_mm = b.level.back();
  grid.moves = b.moves;
  grid.offset.push_back(0);
  for (int j = 0; j < b.ny; ++j)
    for (int i = 0; i < b.nx; ++i) {
      for (int k = 0; k < b.nz; ++k) {
        const std::uint32_t move = b.move[b.at(i, j, k)];
        if (k > 0 && grid.runs.back().move == move)
          grid.runs.back().high_mm = b.level[k + 1];
        else
          grid.runs.push_back({b.level[k], b.level[k + 1], move});
      }
      grid.offset.push_back(static_cast<std::uint32_t>(grid.runs.size()));
    }
  return grid;
}

/// Bodies of the bricks at a moment by flood fill; -1: no foam.
std::vector<int> flooded(const Bricks& b, Moment t, int& bodies) {
  std::vector<int> body(b.move.size(), -1);
  bodies = 0;
  for (int j = 0; j < b.ny; ++j)
    for (int i = 0; i < b.nx; ++i)
      for (int k = 0; k < b.nz; ++k) {
        if (b.move[b.at(i, j, k)] < t || body[b.at(i, j, k)] >= 0)
          continue;
        std::vector<std::array<int, 3>> open{{i, j, k}};
        body[b.at(i, j, k)] = bodies;
        while (!open.empty()) {
          const auto [x, y, z] = open.back();
          open.pop_back();
          for (const auto [dx, dy, dz] :
               {std::array{1, 0, 0}, {-1, 0, 0}, {0, 1, 0}, {0, -1, 0}, {0, 0, 1}, {0, 0, -1}}) {
            const int u = x + dx, v = y + dy, w = z + dz;
            if (u < 0 || v < 0 || w < 0 || u >= b.nx || v >= b.ny || w >= b.nz)
              continue;
            const std::size_t n = b.at(u, v, w);
            if (b.move[n] < t || body[n] >= 0)
              continue;
            body[n] = bodies;
            open.push_back({u, v, w});
          }
        }
        ++bodies;
      }
  return body;
}

/// move, volume, plan, base, next cut, gone by, low, high
using Facts = std::tuple<std::uint32_t, double, double, double, std::uint32_t, std::uint32_t, double, double>;

std::vector<Facts> by_flood_fill(const Bricks& b) {
  const double cell = 0.5 * 0.25;
  std::vector<Facts> facts;
  for (std::uint32_t move = 0; move < b.moves; ++move) {
    int before_count, after_count;
    const std::vector<int> before = flooded(b, move, before_count), after = flooded(b, move + 1, after_count);
    struct Body {
      double volume = 0, base = 0, low = 1e9, high = -1e9;
      std::uint32_t next = kNever, last = 0;
      std::size_t first = SIZE_MAX;
      std::map<std::pair<int, int>, bool> columns;
      int of = -1;
    };
    std::vector<Body> bodies(static_cast<std::size_t>(after_count));
    for (int j = 0; j < b.ny; ++j)
      for (int i = 0; i < b.nx; ++i)
        for (int k = 0; k < b.nz; ++k) {
          const std::size_t n = b.at(i, j, k);
          if (after[n] < 0)
            continue;
          Body& body = bodies[static_cast<std::size_t>(after[n])];
          body.volume += (b.level[k + 1] - b.level[k]) * cell;
          if (k == 0)
            body.base += cell;
          body.low = std::min<double>(body.low, b.level[k]);
          body.high = std::max<double>(body.high, b.level[k + 1]);
          body.next = std::min(body.next, b.move[n]);
          body.last = std::max(body.last, b.move[n]);
          body.first = std::min(body.first, n);
          body.columns[{i, j}] = true;
          body.of = before[n];
        }
    std::map<int, std::vector<Body>> parts; // by the body they were
    for (const Body& body : bodies)
      parts[body.of].push_back(body);
    for (auto& [was, list] : parts) {
      std::sort(list.begin(), list.end(), [](const Body& a, const Body& c) {
        return a.volume != c.volume ? a.volume > c.volume : a.first < c.first;
      });
      for (std::size_t p = 1; p < list.size(); ++p)
        facts.push_back({move, list[p].volume, static_cast<double>(list[p].columns.size()) * cell,
                         list[p].base, list[p].next, list[p].last, list[p].low, list[p].high});
    }
  }
  std::sort(facts.begin(), facts.end());
  return facts;
}

std::vector<Facts> facts_of(const LoosePieces& found) {
  std::vector<Facts> facts;
  for (const LoosePiece& p : found.pieces)
    facts.push_back(
        {p.freed_by, p.volume_mm3, p.plan_mm2, p.base_mm2, p.next_cut, p.gone_by, p.box.low.z, p.box.high.z});
  std::sort(facts.begin(), facts.end());
  return facts;
}

LooseOptions everything() {
  LooseOptions options;
  options.crumb_mm3 = 0;
  options.skin_mm = 0;
  return options;
}

TEST(LoosePieces, EveryPieceOfEveryMomentIsTheFloodFillsOn200RandomStocks) {
  std::mt19937 rng(20260411);
  std::size_t pieces = 0;
  for (int trial = 0; trial < 200; ++trial) {
    const Bricks bricks = random_bricks(rng);
    const LoosePieces found = find_loose_pieces(grid_of(bricks), everything());
    const std::vector<Facts> expected = by_flood_fill(bricks);
    ASSERT_EQ(facts_of(found), expected) << "stock " << trial;
    pieces += expected.size();
  }
  EXPECT_GT(pieces, 1000u); // the stocks do fall apart
}

TEST(LoosePieces, APieceThatBreaksAgainNamesThePieceItCameOff) {
  // A row of seven columns: move 0 cuts off columns 4..6, move 1 cuts column 5 out of it.
  Bricks row{7, 1, 1, {0.0f, 1.0f}, std::vector<std::uint32_t>(7, kNever), 2};
  row.move[3] = 0;
  row.move[5] = 1;
  row.nx = 7;
  const LoosePieces found = find_loose_pieces(grid_of(row), everything());
  ASSERT_EQ(found.pieces.size(), 2u);
  // Three columns stand on either side of the first cut; the lower ones count as the rest.
  EXPECT_EQ(found.pieces[0].freed_by, 0u);
  EXPECT_FALSE(found.pieces[0].from);
  EXPECT_DOUBLE_EQ(found.pieces[0].plan_mm2, 3 * 0.125);
  EXPECT_EQ(found.pieces[0].next_cut, 1u);
  EXPECT_EQ(found.pieces[0].gone_by, kNever);
  EXPECT_EQ(found.pieces[1].freed_by, 1u);
  EXPECT_EQ(found.pieces[1].from, 0u);
  EXPECT_EQ(found.pieces[1].next_cut, kNever);
}

TEST(LoosePieces, CrumbsAreCountedAndSummedNotListed) {
  std::mt19937 rng(7);
  const Bricks bricks = random_bricks(rng);
  const LoosePieces all = find_loose_pieces(grid_of(bricks), everything());
  ASSERT_GT(all.pieces.size(), 2u);
  std::vector<double> volumes;
  for (const LoosePiece& piece : all.pieces)
    volumes.push_back(piece.volume_mm3);
  std::sort(volumes.begin(), volumes.end());
  LooseOptions options = everything();
  options.crumb_mm3 = volumes.back();
  const LoosePieces found = find_loose_pieces(grid_of(bricks), options);
  std::size_t small = 0;
  double sum = 0;
  for (const LoosePiece& piece : all.pieces)
    if (piece.volume_mm3 < options.crumb_mm3)
      ++small, sum += piece.volume_mm3;
  ASSERT_GT(small, 0u);
  ASSERT_LT(small, all.pieces.size());
  EXPECT_EQ(found.crumbs, small);
  EXPECT_DOUBLE_EQ(found.crumbs_mm3, sum);
  EXPECT_EQ(found.pieces.size() + small, all.pieces.size());
}

const Box3 kSheet{{0, 0, -10}, {60, 60, 0}};

/// A square path of the tip at z, once round.
void square(std::vector<Move>& moves, double low, double high, double z) {
  moves.push_back(line({low, low, 5}, {low, low, z}));
  moves.push_back(line({low, low, z}, {high, low, z}));
  moves.push_back(line({high, low, z}, {high, high, z}));
  moves.push_back(line({high, high, z}, {low, high, z}));
  moves.push_back(line({low, high, z}, {low, low, z}));
  moves.push_back(line({low, low, z}, {low, low, 5}));
}

TEST(LoosePieces, AnIslandComesFreeWithTheMoveThatClosesTheSlotRoundIt) {
  std::vector<Move> moves;
  square(moves, 17, 43, -5);
  square(moves, 17, 43, -10);
  const auto record = cut(kSheet, {flat_cutter(6, 30)}, path_of(moves));
  const LoosePieces found = find_loose_pieces(run_grid(record), {});
  ASSERT_EQ(found.pieces.size(), 1u);
  const LoosePiece& island = found.pieces[0];
  EXPECT_EQ(island.freed_by, 10u); // the fourth side of the second round
  EXPECT_FALSE(island.on_skin);
  // 20 x 20 x 10 mm: the tip's square less a cutter's radius on each side; every column centre is a half
  // voxel off.
  EXPECT_NEAR(island.volume_mm3, 4000, 1e-6);
  EXPECT_NEAR(island.base_mm2, 400, 1e-6);
  EXPECT_NEAR(island.box.low.x, 20, 1e-9);
  EXPECT_NEAR(island.box.high.y, 40, 1e-9);
  EXPECT_NEAR(island.height_mm(), 10, 1e-6);
  EXPECT_NEAR(island.centre_mm.x, 30, 1e-9);
  EXPECT_EQ(island.gone_by, kNever);
  ASSERT_EQ(found.floors.size(), 1u); // the slot itself
  EXPECT_TRUE(found.floors[0].through);
  // A ring of a square with round outer corners: outer 32 x 32 with r 3, inner 20 x 20. The reading of a
  // round corner by column centres is off by no more than its perimeter times half a voxel diagonal.
  const double ring = 32 * 32 - (4 - testing::kPi) * 9 - 400;
  EXPECT_NEAR(found.floors[0].area_mm2, ring, 2 * testing::kPi * 3 * 0.36);
  EXPECT_EQ(found.floors[0].move, 6u);
}

TEST(LoosePieces, ASkinLeftOnTheTableIsToldFromACleanCut) {
  std::vector<Move> moves;
  square(moves, 17, 43, -9.4);
  const auto record = cut(kSheet, {flat_cutter(6, 30)}, path_of(moves));
  LooseOptions options;
  options.skin_mm = 1;
  const LoosePieces found = find_loose_pieces(run_grid(record), options);
  ASSERT_EQ(found.pieces.size(), 1u);
  EXPECT_TRUE(found.pieces[0].on_skin);
  EXPECT_EQ(found.pieces[0].freed_by, 4u);
  EXPECT_NEAR(found.pieces[0].base_mm2, 400, 1e-6);
  ASSERT_EQ(found.floors.size(), 1u);
  EXPECT_FALSE(found.floors[0].through);
  EXPECT_NEAR(found.floors[0].least_mm, 0.6, 1e-5); // heights are kept as floats
  options.skin_mm = 0.5;
  EXPECT_TRUE(find_loose_pieces(run_grid(record), options).pieces.empty());
  EXPECT_TRUE(find_loose_pieces(run_grid(record), options).floors.empty());
}

TEST(LoosePieces, APieceUndercutByAStubHangsFree) {
  // Pockets on both sides and a stub with a thin neck that runs underneath: the rib between them loses its
  // foot.
  CutterCard stub = flat_cutter(10, 3);
  stub.neck_diameter_mm = 2;
  stub.neck_length_mm = 40;
  std::vector<Move> moves;
  // Two slots 10 wide down to -8 in layers, 16 apart: a rib 6 wide from y 27 to 33, cut off at both ends as
  // well.
  for (const double z : {-3.0, -6.0, -8.0}) {
    for (const double y : {22.0, 38.0})
      moves.push_back(line({0, y, z}, {60, y, z}));
    for (const double x : {10.0, 50.0})
      moves.push_back(line({x, 20, z}, {x, 40, z}));
  }
  const std::uint32_t before = static_cast<std::uint32_t>(moves.size());
  moves.push_back(line({10, 25, -8}, {50, 25, -8})); // reaches y 30 under the rib
  moves.push_back(line({10, 35, -8}, {50, 35, -8})); // and the other half
  const auto record = cut(kSheet, {stub}, path_of(moves));
  const LoosePieces found = find_loose_pieces(run_grid(record), {});
  ASSERT_EQ(found.pieces.size(), 1u);
  EXPECT_EQ(found.pieces[0].freed_by, before + 1);
  EXPECT_EQ(found.pieces[0].base_mm2, 0);
  EXPECT_NEAR(found.pieces[0].box.low.z, -5, 1e-6);
  EXPECT_NEAR(found.pieces[0].volume_mm3, 30 * 6 * 5, 1e-6);
}

TEST(LoosePieces, AreTheSameOnAnyThreadCount) {
  std::vector<Move> moves;
  square(moves, 17, 43, -10);
  square(moves, 25, 35, -10);
  const Path path = path_of(moves);
  const auto facts_on = [&](int threads) {
    tbb::global_control limit(tbb::global_control::max_allowed_parallelism,
                              static_cast<std::size_t>(threads));
    return facts_of(find_loose_pieces(run_grid(cut(kSheet, {flat_cutter(6, 30)}, path)), {}));
  };
  const std::vector<Facts> one = facts_on(1);
  EXPECT_EQ(one.size(), 2u);
  EXPECT_EQ(one, facts_on(2));
  EXPECT_EQ(one, facts_on(4));
}

} // namespace
} // namespace snagmap
