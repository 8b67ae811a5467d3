// Volumes and walls against closed forms of plane and solid geometry (any handbook of mathematics).
#include "sim/probe/volumes.hpp"
#include "tests/sim/record_fixture.hpp"

#include <tbb/global_control.h>
#include <tbb/task_arena.h>

#include <random>

using namespace snagmap;
using namespace snagmap::testing;

namespace {

const Box3 kSheet{{0, 0, -40}, {100, 80, 0}};

/// A column counts whole when its centre is inside: an edge is off by half a voxel at most, so the area by
/// half a voxel times the outline.
double volume_tolerance(double outline_mm, double depth_mm, double voxel_mm) {
  return 0.5 * voxel_mm * outline_mm * depth_mm;
}

Path random_program(unsigned seed, int count) {
  std::mt19937 random(seed);
  std::uniform_real_distribution<double> x(-5, 105), y(-5, 85), z(-38, 5), turn(-6, 6);
  std::vector<Move> moves;
  Vec3 at{0, 0, 5};
  for (int i = 0; i < count; ++i) {
    Vec3 to{x(random), y(random), i % 3 == 0 ? at.z : z(random)};
    if (i % 7 == 3)
      to = {at.x, at.y, z(random)};
    Move move = line(at, to, i % 11 == 5 ? MoveKind::rapid : MoveKind::line);
    if (i % 5 == 4)
      move = arc(at, {at.x + 0.1 * x(random), at.y + 4}, turn(random), i % 2 ? 0 : -0.5 * at.z - 8);
    moves.push_back(move);
    at = move.to;
  }
  return path_of(moves);
}

std::string bits_of(const RemovalRecord& record) {
  std::string bits;
  const auto put = [&](double v) { bits.append(reinterpret_cast<const char*>(&v), sizeof v); };
  for (double v : removed_mm3(record))
    put(v);
  for (const Touch& touch : record.touches()) {
    put(touch.move), put(touch.depth_mm), put(touch.s), put(touch.place.x), put(touch.place.y),
        put(touch.place.z);
  }
  for (double x = 0.1; x < 100; x += 2.3)
    for (double y = 0.1; y < 80; y += 2.1)
      for (Moment t : {record.end() / 3, record.end()}) {
        for (const Slab& slab : record.column({x, y}, t))
          put(slab.low_mm), put(slab.high_mm);
        const Span span = record.look({x, y, -9.7}, {0.6, 0.8}, 30, t);
        put(span.gap_mm), put(span.thickness_mm);
      }
  return bits;
}

} // namespace

TEST(Record, SlotVolumeMatchesClosedForm) {
  const double length = 50, depth = 10, radius = 3;
  for (double voxel : {1.0, 0.5, 0.25}) {
    const auto record = cut(kSheet, {flat_cutter(6, 25)},
                            path_of({line({20, 31.3, -depth}, {20 + length, 31.3, -depth})}), voxel);
    const double area = length * 2 * radius + kPi * radius * radius;
    EXPECT_NEAR(removed_mm3(record)[0], area * depth,
                volume_tolerance(2 * length + 2 * kPi * radius, depth, voxel));
  }
}

TEST(Record, CircularSlotVolumeMatchesClosedForm) {
  const double depth = 12, ring = 20, radius = 3;
  const auto record = cut(kSheet, {flat_cutter(6, 25)}, path_of({arc({70, 40, -depth}, {50, 40}, 2 * kPi)}));
  EXPECT_NEAR(removed_mm3(record)[0],
              kPi * ((ring + radius) * (ring + radius) - (ring - radius) * (ring - radius)) * depth,
              volume_tolerance(2 * kPi * 2 * ring, depth, 0.5));
}

TEST(Record, PartArcVolumeMatchesClosedForm) {
  // Sector of the ring and two half discs.
  const double depth = 12, ring = 20, radius = 3;
  for (double turn : {0.7, -2.0, 3.9, -5.8}) {
    const auto record = cut(kSheet, {flat_cutter(6, 25)}, path_of({arc({70, 40, -depth}, {50, 40}, turn)}));
    const double area = std::abs(turn) * ring * 2 * radius + kPi * radius * radius;
    const double gap = 2 * ring * std::sin((2 * kPi - std::abs(turn)) / 2);
    ASSERT_TRUE(std::abs(turn) < kPi || gap > 2 * radius) << "the end discs must not meet";
    EXPECT_NEAR(removed_mm3(record)[0], area * depth,
                volume_tolerance(2 * std::abs(turn) * ring + 2 * kPi * radius, depth, 0.5))
        << turn;
  }
}

TEST(Record, HelixRampVolumeMatchesClosedForm) {
  // One turn of a flat cutter down a helix of pitch p from the surface. A column at radius q and share f of
  // the turn lies under the disc from f - a to f + a, a(q) by the law of cosines in shares of a turn. Its
  // depth is p (f + a); but p for f < a and f > 1 - a, which the end of the turn covers. Mean over f: p (1/2
  // + 2a - 2a^2).
  const double ring = 10, radius = 4, pitch = 6;
  const auto record = cut(kSheet, {flat_cutter(2 * radius, 25)},
                          path_of({arc({60, 40, 0}, {50, 40}, 2 * kPi, -pitch)}), 0.25);
  double volume = 0;
  const int rings = 20000;
  for (int n = 0; n < rings; ++n) { // midpoint rule over q
    const double q = ring - radius + 2 * radius * (n + 0.5) / rings;
    const double a = std::acos((ring * ring + q * q - radius * radius) / (2 * ring * q)) / (2 * kPi);
    const double mean = 0.5 + 2 * a - 2 * a * a;
    volume += 2 * kPi * q * pitch * mean * (2 * radius / rings);
  }
  // Floor heights are taken at column centres: second order on the ramp, first order only at the ring's
  // edges.
  EXPECT_NEAR(removed_mm3(record)[0], volume, volume_tolerance(2 * kPi * 2 * ring, pitch, 0.25));
}

TEST(Record, SlantingMoveCutsTheWholeBody) {
  // Ramp along x: the floor under a column is the lowest tip while the disc covers it.
  const auto record = cut(kSheet, {flat_cutter(6, 25)}, path_of({line({20, 40, 0}, {80, 40, -12})}));
  for (double x : {30.25, 47.75, 60.25}) {
    for (double y : {37.75, 40.25, 42.25}) {
      const double reach = std::sqrt(9 - (y - 40) * (y - 40));
      EXPECT_NEAR(record.top_mm({x, y}, 1), -12 * (x + reach - 20) / 60, 1e-4) << x << ' ' << y;
    }
  }
}

TEST(Record, OrderOfMovesDoesNotChangeTheFinalStock) {
  const Path one = random_program(7, 60);
  Path other = one;
  std::shuffle(other.moves.begin(), other.moves.end(), std::mt19937(3));
  const std::vector<CutterCard> cutters{flat_cutter(6, 14)};
  const auto a = cut(kSheet, cutters, one), b = cut(kSheet, cutters, other);
  bool history_differs = false;
  for (double x = 0.25; x < 100; x += 0.5)
    for (double y = 0.25; y < 80; y += 0.5) {
      const auto sa = a.column({x, y}, a.end()), sb = b.column({x, y}, b.end());
      ASSERT_EQ(sa.size(), sb.size()) << x << ' ' << y;
      for (std::size_t n = 0; n < sa.size(); ++n) {
        EXPECT_EQ(sa[n].low_mm, sb[n].low_mm);
        EXPECT_EQ(sa[n].high_mm, sb[n].high_mm);
      }
      history_differs |= a.removed_by({x, y, -5}) != b.removed_by({x, y, -5});
    }
  EXPECT_TRUE(history_differs);
}

TEST(Record, SameBitsOnOneTwoAndFourThreads) {
  const Path path = random_program(11, 80);
  const std::vector<CutterCard> cutters{flat_cutter(6, 14)};
  const tbb::global_control allow(tbb::global_control::max_allowed_parallelism, 4); // also on two cores
  std::string bits;
  for (int threads : {1, 2, 4}) {
    tbb::task_arena arena(threads);
    const std::string now = arena.execute([&] { return bits_of(cut(kSheet, cutters, path)); });
    if (bits.empty())
      bits = now;
    EXPECT_TRUE(bits == now) << threads << " threads";
  }
  EXPECT_GT(bits.size(), 10000u);
}

TEST(Record, EveryMomentIsTheStockOfTheProgramSoFar) {
  const Path path = random_program(5, 40);
  const std::vector<CutterCard> cutters{flat_cutter(6, 14)};
  const auto whole = cut(kSheet, cutters, path);
  for (Moment t : {5u, 17u, 33u}) {
    Path part = path;
    part.moves.resize(t);
    const auto so_far = cut(kSheet, cutters, part);
    for (double x = 0.25; x < 100; x += 1)
      for (double y = 0.25; y < 80; y += 1) {
        const auto a = whole.column({x, y}, t), b = so_far.column({x, y}, t);
        ASSERT_EQ(a.size(), b.size());
        for (std::size_t n = 0; n < a.size(); ++n) {
          EXPECT_EQ(a[n].low_mm, b[n].low_mm);
          EXPECT_EQ(a[n].high_mm, b[n].high_mm);
        }
        EXPECT_EQ(whole.top_mm({x, y}, t), so_far.top_mm({x, y}, t));
      }
  }
}

TEST(Record, StubFlutesLeaveFoamAboveThemAndTheNeckRubs) {
  CutterCard stub = flat_cutter(6, 5);
  stub.neck_diameter_mm = 4;
  stub.neck_length_mm = 30;
  const auto record = cut(kSheet, {stub}, path_of({line({-10, 40, -20}, {110, 40, -20})}));
  const auto slabs = record.column({50.25, 42.25}, 1);
  ASSERT_EQ(slabs.size(), 2u);
  EXPECT_EQ(slabs[0].high_mm, -20);
  EXPECT_EQ(slabs[1].low_mm, -15);
  EXPECT_TRUE(record.solid({50.25, 40.25, -10}, 1));
  EXPECT_FALSE(record.solid({50.25, 40.25, -17}, 1));
  ASSERT_EQ(record.touches().size(), 1u);
  const Touch& touch = record.touches()[0];
  EXPECT_EQ(touch.zone, Zone::neck);
  EXPECT_FALSE(touch.rapid);
  EXPECT_EQ(touch.move, 0u);
  EXPECT_NEAR(touch.depth_mm, 2, 0.5);
}

TEST(Record, ANeckWithinItsFlutesReachTouchesNothing) {
  CutterCard stub = flat_cutter(6, 5);
  stub.neck_diameter_mm = 6; // as wide as the flutes: tangent to the wall, no touch
  stub.neck_length_mm = 60;
  std::vector<Move> moves{line({30, 40, 5}, {30, 40, -5})};
  for (double z : {-5.0, -10.0, -15.0}) {
    moves.push_back(line({30, 40, z}, {70, 40, z}));
    moves.push_back(line({70, 40, z}, {30, 40, z}));
    moves.push_back(line({30, 40, z}, {30, 40, z - 5}));
  }
  moves.push_back(line({30, 40, -20}, {30, 40, 5}, MoveKind::rapid));
  EXPECT_TRUE(cut(kSheet, {stub}, path_of(moves)).touches().empty());
}

TEST(Record, RapidThroughFoamIsRecorded) {
  const auto record =
      cut(kSheet, {flat_cutter(6, 25)},
          path_of({line({50, 40, 5}, {50, 40, -5}), line({50, 40, -5}, {80, 40, -5}, MoveKind::rapid),
                   line({80, 40, -5}, {80, 40, 5}, MoveKind::rapid)}));
  ASSERT_EQ(record.touches().size(), 1u);
  EXPECT_EQ(record.touches()[0].move, 1u);
  EXPECT_TRUE(record.touches()[0].rapid);
  EXPECT_EQ(record.touches()[0].zone, Zone::flutes);
}

TEST(Record, HolderPressingOnTheSheetIsRecorded) {
  CutterCard card = flat_cutter(6, 25);
  card.stick_out_mm = 30;
  card.nut_diameter_mm = 28;
  card.nut_length_mm = 20;
  const auto record = cut(kSheet, {card}, path_of({line({50, 40, 5}, {50, 40, -31})}));
  bool nut = false;
  for (const Touch& touch : record.touches())
    if (touch.zone == Zone::nut) {
      nut = true;
      EXPECT_NEAR(touch.depth_mm, 1, 1e-4);
    }
  EXPECT_TRUE(nut);
}

TEST(RecordLook, SlantedSlotWallsAreExact) {
  std::mt19937 random(2);
  std::uniform_real_distribution<double> angle(0, 2 * kPi), offset(-3, 3);
  double worst_wall = 0, worst_web = 0;
  for (int n = 0; n < 1000; ++n) {
    const double phi = angle(random);
    const Vec2 u{std::cos(phi), std::sin(phi)}, left = left_of(u);
    const Vec2 c{50 + offset(random), 40 + offset(random)};
    const auto at = [&](double along, double aside) {
      const Vec2 p = c + along * u + aside * left;
      return Vec3{p.x, p.y, -10};
    };
    // Two parallel slots of 6 mm, 10 mm apart: a web of 4 mm between them.
    const auto record = cut({{20, 10, -20}, {80, 70, 0}}, {flat_cutter(6, 25)},
                            path_of({line(at(-20, 0), at(20, 0)), line(at(20, 10), at(-20, 10))}));
    const Vec3 eye = at(offset(random), 1);
    const Span web = record.look({eye.x, eye.y, -5}, left, 30, 2);
    ASSERT_TRUE(web.hit && web.through);
    worst_wall = std::max(worst_wall, std::abs(web.gap_mm - 2));
    worst_web = std::max(worst_web, std::abs(web.thickness_mm - 4));
    // Before the second slot the web runs on to the side of the sheet or past the cap.
    EXPECT_GT(record.look({eye.x, eye.y, -5}, left, 30, 1).thickness_mm, 10);
  }
  EXPECT_LT(worst_wall, 0.01 * 0.5);
  EXPECT_LT(worst_web, 0.01);
}

TEST(RecordLook, RoundPocketWallIsExact) {
  std::vector<Move> moves{line({50, 40, 5}, {50, 40, -10})};
  for (double r = 2; r <= 17; r += 2.5) {
    moves.push_back(line(moves.back().to, {50 + r, 40, -10}));
    moves.push_back(arc({50 + r, 40, -10}, {50, 40}, 2 * kPi));
  }
  const auto record = cut(kSheet, {flat_cutter(6, 25)}, path_of(moves));
  for (double phi = 0; phi < 6.28; phi += 0.01) {
    const Span span = record.look({50, 40, -5}, {std::cos(phi), std::sin(phi)}, 50, record.end());
    ASSERT_TRUE(span.hit);
    EXPECT_NEAR(span.gap_mm, 20, 0.02 * 0.5);
  }
}

TEST(RecordLook, StartingOnTheCuttersSurfaceGivesNoGap) {
  const auto record = cut(kSheet, {flat_cutter(6, 25)},
                          path_of({line({20, 40, -10}, {80, 40, -10}), line({80, 50, -10}, {20, 50, -10})}));
  for (Moment t : {0u, 1u, 2u}) {
    const Span span = record.look({50, 43, -5}, {0, 1}, 30, t);
    EXPECT_TRUE(span.hit);
    EXPECT_NEAR(span.gap_mm, 0, 1e-9);
    EXPECT_EQ(span.through, t == 2);
    EXPECT_NEAR(span.thickness_mm, t == 2 ? 4.0 : 30.0, 1e-9);
  }
}

TEST(RecordLook, SideOfTheSheetEndsTheFoam) {
  const auto record = cut(kSheet, {flat_cutter(6, 25)}, path_of({line({10, 20, -10}, {10, 60, -10})}));
  const Span out = record.look({10, 40, -5}, {-1, 0}, 30, 1);
  EXPECT_TRUE(out.hit && out.through);
  EXPECT_NEAR(out.gap_mm, 3, 1e-9);
  EXPECT_NEAR(out.thickness_mm, 7, 1e-9);
  const Span in = record.look({-5, 40, -5}, {1, 0}, 30, 1);
  EXPECT_TRUE(in.hit && in.through);
  EXPECT_NEAR(in.gap_mm, 5, 1e-9);
  EXPECT_NEAR(in.thickness_mm, 7, 1e-9);
  const Span none = record.look({-5, 40, -5}, {-1, 0}, 30, 1);
  EXPECT_FALSE(none.hit);
  EXPECT_EQ(none.gap_mm, 30);
  EXPECT_FALSE(record.look({10, 40, -15}, {0, 1}, 2, 1).gap_mm > 0) << "under the slot the foam is whole";
}

TEST(RecordCut, BadInputIsRefusedWithAReason) {
  const Path path = path_of({line({0, 0, 5}, {10, 0, -5})});
  CutOptions options;
  options.voxel_mm = 0;
  EXPECT_EQ(RemovalRecord::cut({kSheet}, {flat_cutter(6, 25)}, path, options).faults()[0].what,
            "the voxel size is 0 mm");
  options.voxel_mm = 0.5;
  EXPECT_EQ(RemovalRecord::cut({kSheet}, {}, path, options).faults()[0].what, "the move uses cutter 0 of 0");
  EXPECT_FALSE(RemovalRecord::cut({{{0, 0, 0}, {10, 10, 0}}}, {flat_cutter(6, 25)}, path, options));
  options.voxel_mm = 0.0005;
  EXPECT_FALSE(RemovalRecord::cut({kSheet}, {flat_cutter(6, 25)}, path, options));
}

TEST(RecordCut, StopsWhenTheCallerSaysSo) {
  CutOptions options;
  options.voxel_mm = 0.1;
  int calls = 0;
  options.progress = [&](double share) {
    EXPECT_GE(share, 0);
    EXPECT_LE(share, 1);
    ++calls;
    return false;
  };
  const auto record = RemovalRecord::cut({kSheet}, {flat_cutter(30, 45)}, random_program(1, 3000), options);
  EXPECT_FALSE(record);
  EXPECT_EQ(calls, 1);
}
