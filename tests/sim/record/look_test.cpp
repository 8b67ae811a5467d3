// Looks and upright lines are met by the moves themselves, whatever the columns can see; and they always come
// back.
#include "tests/sim/record_fixture.hpp"

#include "sim/probe/air_probe.hpp"
#include "sim/watch/web_walk.hpp"

#include <limits>
#include <stdexcept>

namespace snagmap::testing {
namespace {

/// Two slots of 6 mm along y with `apart` mm of foam between them, in a sheet of 60 x 40 x 20 mm.
RemovalRecord two_slots(double apart_mm, double voxel_mm) {
  const double x = 20.137;
  const Path path = path_of({line({x, 5, -8}, {x, 35, -8}), line({x, 35, 5}, {x + 6 + apart_mm, 35, 5}),
                             line({x + 6 + apart_mm, 35, -8}, {x + 6 + apart_mm, 5, -8})});
  return cut({{0, 0, -20}, {60, 40, 0}}, {flat_cutter(6, 30)}, path, voxel_mm);
}

} // namespace

TEST(RecordLook, ASliverBetweenTwoColumnsIsMeasured) {
  for (const double voxel_mm : {0.1, 0.5, 2.0})
    for (const double apart_mm : {0.03, 0.2, 0.7}) {
      const RemovalRecord record = two_slots(apart_mm, voxel_mm);
      const Span span = record.look({20.137, 20, -4}, {1, 0}, 30, record.end());
      ASSERT_TRUE(span.hit && span.through) << voxel_mm << " " << apart_mm;
      EXPECT_NEAR(span.gap_mm, 3, 1e-9);
      EXPECT_NEAR(span.thickness_mm, apart_mm, 1e-9);
    }
}

TEST(RecordLook, AnUprightLineIsFoundBetweenTheColumnsToo) {
  for (const double voxel_mm : {0.1, 0.5, 2.0}) {
    const RemovalRecord record = two_slots(0.2, voxel_mm);
    const std::vector<Slab> sliver = record.standing({20.137 + 3.1, 20}, record.end()),
                            slot = record.standing({20.137 + 2.9, 20}, record.end());
    ASSERT_EQ(sliver.size(), 1u);
    EXPECT_EQ(sliver[0].high_mm, 0);
    ASSERT_EQ(slot.size(), 1u);
    EXPECT_DOUBLE_EQ(slot[0].high_mm, -8);
    EXPECT_EQ(record.standing({20.137 + 2.9, 20}, 0).front().high_mm, 0) << "before the first move";
    EXPECT_TRUE(record.standing({61, 20}, record.end()).empty());
  }
}

// Passes as deep as the flutes are long: where two of them meet, rounding must leave no floor in the air.
TEST(RecordLook, PassesAsDeepAsTheFlutesAreLongLeaveNoShim) {
  for (const double flutes_mm : {6.35, 3.175, 0.7}) {
    std::vector<Move> moves;
    for (int pass = 1; pass <= 3; ++pass)
      moves.push_back(line({10, 20, -pass * flutes_mm}, {50, 20, -pass * flutes_mm}));
    const RemovalRecord record =
        cut({{0, 0, -20}, {60, 40, 0}}, {flat_cutter(6, flutes_mm)}, path_of(moves), 1);
    const std::vector<Slab> foam = record.standing({30, 20}, record.end());
    ASSERT_EQ(foam.size(), 1u) << flutes_mm;
    EXPECT_NEAR(foam[0].high_mm, -3 * flutes_mm, 1e-9);
  }
}

TEST(RecordLook, AnUprightLineThroughABallsSlopeHasItsClosedForm) {
  // A ball of radius 3 along a slope: its centre's way is offset by the radius square to it (geometry).
  CutterCard ball = flat_cutter(6, 30);
  ball.tip = TipShape::ball;
  const Path path = path_of({line({10, 20, -4}, {50, 20, -12})});
  const RemovalRecord record = cut({{0, 0, -20}, {60, 40, 0}}, {ball}, path, 1);
  const double slope = -8.0 / 40, steep = std::sqrt(1 + slope * slope);
  for (const double y : {20.0, 21.3, 22.5}) {
    const double under =
        std::sqrt(9 - (y - 20) * (y - 20)) * steep; // of the cylinder round the slanting way, upright
    const double z = -4 + slope * (30.2 - 10) + 3 - under;
    EXPECT_NEAR(record.standing({30.2, y}, record.end()).back().high_mm, z, 1e-9) << y;
  }
}

// Where rounding puts the last column's edge a hair inside the sheet, a look along it never came back.
TEST(RecordLook, ALookAlongTheSheetsFarEdgeComesBack) {
  for (const double side : {25.4, 33.3, 50.8, 76.2, 31.75})
    for (const double voxel_mm : {0.7, 1.0, 1.5, 2.0}) {
      const Path path = path_of({line({0, 0, -3}, {side, side, -3}), line({side, side, -3}, {side, 0, -3})});
      const RemovalRecord record = cut({{0, 0, -10}, {side, side, 0}}, {flat_cutter(6, 30)}, path, voxel_mm);
      for (int n = 0; n < 400; ++n) {
        const double angle = 2 * kPi * n / 400;
        const Span span = record.look({0.5 * side + 0.01 * n, 0.5 * side, -2},
                                      {std::cos(angle), std::sin(angle)}, 60, record.end());
        EXPECT_LE(span.gap_mm, 60);
      }
    }
}

TEST(RecordLook, WhatIsNoNumberIsRefused) {
  const RemovalRecord record = two_slots(1, 1);
  constexpr double kNone = std::numeric_limits<double>::quiet_NaN(),
                   kEndless = std::numeric_limits<double>::infinity();
  for (const double bad : {kNone, kEndless, -kEndless}) {
    EXPECT_THROW(record.look({20, 20, -4}, {bad, 0}, 30, 2), std::invalid_argument);
    EXPECT_THROW(record.look({20, 20, -4}, {1, 0}, bad, 2), std::invalid_argument);
    EXPECT_THROW(record.look({20, bad, -4}, {1, 0}, 30, 2), std::invalid_argument);
    EXPECT_THROW(record.solid({bad, 0, 0}, 2), std::invalid_argument);
    EXPECT_THROW(record.removed_by({0, 0, bad}), std::invalid_argument);
    EXPECT_THROW(record.column({0, bad}, 2), std::invalid_argument);
    EXPECT_THROW(record.standing({0, bad}, 2), std::invalid_argument);
    EXPECT_THROW(record.top_mm({bad, 0}, 2), std::invalid_argument);
    EXPECT_THROW(AirProbe(record.data()).aim({20, 20}, bad, -4, 2), std::invalid_argument);
    EXPECT_THROW(floor_mm(record, {20, 20}, bad, 2), std::invalid_argument);
    EXPECT_THROW(walk_web(record, {{20, 20}, {bad, 0}, -4, 5, 8}, 2), std::invalid_argument);
  }
  EXPECT_THROW(record.look({20, 20, -4}, {0, 0}, 30, 2), std::invalid_argument) << "a direction without one";
  EXPECT_THROW(walk_web(record, {{20, 20}, {1, 0}, -4, 0, 8}, 2), std::invalid_argument)
      << "a web of no thickness";
}

TEST(RecordCut, AnArcTooLongForItsChordsIsRefusedByLine) {
  Move spiral = arc({20, 20, -3}, {0, 0}, 200 * 2 * kPi);
  spiral.plane = ArcPlane::zx;
  spiral.centre = {4e5, 4e5};
  const Path path = path_of({line({20, 20, 5}, {20, 20, -3}), spiral});
  CutOptions options;
  const auto record = RemovalRecord::cut({{{0, 0, -20}, {60, 40, 0}}}, {flat_cutter(6, 30)}, path, options);
  ASSERT_FALSE(record);
  EXPECT_EQ(record.faults().front().line, 2);
}

} // namespace snagmap::testing
