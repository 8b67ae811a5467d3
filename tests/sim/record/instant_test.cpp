// The stock while a move is under way, against closed forms and against the cut of the move's first part
// alone.
#include "sim/path/layers.hpp"
#include "sim/watch/web_walk.hpp"
#include "tests/sim/record_fixture.hpp"

#include <random>

using namespace snagmap;
using namespace snagmap::testing;

namespace {

const Box3 kSheet{{-30, -30, -20}, {30, 30, 0}};

/// Looks and upright lines in the stock of `share` of the last move agree with those where it ends there.
void expect_as_if_it_ended(const CutterCard& cutter, const Move& move, double share, double within_mm,
                           bool whole_before) {
  std::vector<Move> all, ended;
  if (whole_before)
    all.push_back(line({-25, 12, -6}, {25, 14, -6}));
  ended = all;
  all.push_back(move);
  all.push_back(line({0, -22, -9}, {10, -22, -9})); // not yet
  ended.push_back(part_of(move, 0, share));
  const RemovalRecord record = cut(kSheet, {cutter}, path_of(all), 1);
  const RemovalRecord other = cut(kSheet, {cutter}, path_of(ended), 1);
  const Instant now(static_cast<Moment>(ended.size() - 1), share);
  std::mt19937 random(7);
  std::uniform_real_distribution<double> u(-1, 1);
  int met = 0;
  for (int n = 0; n < 300; ++n) {
    const Vec3 eye{28 * u(random), 28 * u(random), -10 + 9.9 * u(random)};
    const double angle = kPi * u(random);
    const Vec2 dir{std::cos(angle), std::sin(angle)};
    const Span a = record.look(eye, dir, 40, now), b = other.look(eye, dir, 40, other.end());
    ASSERT_EQ(a.hit, b.hit);
    EXPECT_NEAR(a.gap_mm, b.gap_mm, within_mm);
    EXPECT_NEAR(a.thickness_mm, b.thickness_mm, within_mm);
    met += a.hit && (a.gap_mm > 0 || a.through);
    const std::vector<Slab> c = record.standing(xy(eye), now), d = other.standing(xy(eye), other.end());
    ASSERT_EQ(c.size(), d.size());
    for (std::size_t k = 0; k < c.size(); ++k) {
      EXPECT_NEAR(c[k].low_mm, d[k].low_mm, within_mm);
      EXPECT_NEAR(c[k].high_mm, d[k].high_mm, within_mm);
    }
  }
  EXPECT_GT(met, 100);
}

} // namespace

TEST(Instant, ASlotUnderWayEndsARadiusAheadOfTheAxis) {
  const RemovalRecord record =
      cut(kSheet, {flat_cutter(6, 30)}, path_of({line({-20, 0, -8}, {20, 0, -8})}), 0.5);
  for (const double share : {0.0, 0.25, 0.7, 1.0}) {
    const double x = -20 + 40 * share;
    if (share > 0) {
      EXPECT_NEAR(record.look({-20, 0, -4}, {1, 0}, 60, {0, share}).gap_mm, 40 * share + 3, 1e-6);
    }
    EXPECT_NEAR(top_mm(record, {x + 3.1, 0}, Instant{0, share}), 0, 1e-9) << "ahead it is still foam";
  }
}

TEST(Instant, APlungeHasItsFloorUnderTheTip) {
  const RemovalRecord record = cut(kSheet, {flat_cutter(6, 30)}, path_of({line({0, 0, 4}, {0, 0, -16})}));
  EXPECT_NEAR(top_mm(record, {1, 1}, Instant{0, 0.5}), -6, 1e-9);
  EXPECT_NEAR(top_mm(record, {1, 1}, Instant{0, 0.95}), -15, 1e-9);
}

TEST(Instant, AnyMoveUnderWayLeavesWhatItsFirstPartAloneLeaves) {
  CutterCard ball = flat_cutter(8, 30), flat = flat_cutter(8, 30), bull = flat;
  ball.tip = TipShape::ball;
  bull.tip = TipShape::bull_nose;
  bull.corner_radius_mm = 1.5;
  struct Case {
    Move move;
    double within_mm;
  };
  const double rounding = 1e-5; // arcs: the part's points carry roundings of the angle
  const std::vector<Case> cases{{line({-20, -10, -7}, {22, 5, -7}), 1e-6},
                                {line({-20, -10, 0}, {22, 5, -12}), 1e-6},
                                {line({3, -4, 3}, {3, -4, -14}), 1e-6},
                                {arc({-12, 0, -6}, {0, 0}, 1.6 * kPi), rounding},
                                {arc({-12, 0, 0}, {0, 0}, -5.3 * kPi, -12), rounding}};
  for (const CutterCard& cutter : {flat, ball, bull})
    for (const Case& one : cases)
      for (const double share : {0.03, 0.41, 0.9})
        expect_as_if_it_ended(cutter, one.move, share,
                              one.within_mm + (one.move.kind == MoveKind::arc && cutter.tip != TipShape::flat
                                                   ? 0.02 // helices of curved cutters are chords: other ones
                                                   : 0),
                              share > 0.4);
}

TEST(Instant, AShareOfAllIsTheNextMoment) {
  const RemovalRecord record = cut(kSheet, {flat_cutter(6, 30)},
                                   path_of({line({-20, 0, -8}, {0, 0, -8}), line({0, 0, -8}, {0, 20, -8})}));
  for (int n = 0; n < 20; ++n) {
    const Vec2 dir{std::cos(0.3 * n), std::sin(0.3 * n)};
    EXPECT_EQ(record.look({0, 0, -4}, dir, 50, Instant(0, 1)).gap_mm,
              record.look({0, 0, -4}, dir, 50, Moment{1}).gap_mm);
  }
  EXPECT_THROW(record.look({0, 0, -4}, {1, 0}, 50, Instant(2, 0.5)), std::out_of_range);
}
