#include "sim/swept/sweep.hpp"
#include "sim/swept/swept.hpp"

#include <gtest/gtest.h>

#include <random>

namespace snagmap {
namespace {

// The cut leaves out the windows of columns that LowerEnd says it covers: these must have one window alone,
// and it must reach the lower end exactly, or the record would change by a bit.
TEST(RecordSweeps, ColumnsOfTheLowerEndHaveOneWindowThatReachesIt) {
  std::mt19937 random(1);
  std::uniform_real_distribution<double> u(-1, 1);
  int covered = 0;
  for (int n = 0; n < 20000; ++n) {
    Sweep sweep;
    sweep.za = 10 * u(random);
    sweep.zb = 10 * u(random);
    Sweeps sweeps;
    const double radius = 3 + 2 * u(random);
    switch (n % 3) {
    case 0:
      sweep.kind = SweepKind::upright;
      sweep.a = sweep.b = {u(random), u(random)};
      break;
    case 1:
      sweep.kind = SweepKind::line;
      sweep.a = {8 * u(random), 8 * u(random)};
      sweep.b = {8 * u(random), 8 * u(random)};
      break;
    default: // rings narrower and wider than the disc, up to three turns
      sweep.kind = SweepKind::arc;
      sweeps.arcs.push_back({{u(random), u(random)}, 5 + 4.9 * u(random), 3 * u(random), 19 * u(random)});
    }
    const LowerEnd end(sweep, sweeps, radius);
    EXPECT_EQ(end.z(), sweep.z_at(sweep.zb < sweep.za ? 1 : 0));
    for (int k = 0; k < 50; ++k) {
      const Vec2 p{15 * u(random), 15 * u(random)};
      if (!end.covers(p))
        continue;
      ++covered;
      Windows windows;
      windows_over(sweep, sweeps, radius, p, windows);
      ASSERT_EQ(windows.count, 1);
      EXPECT_EQ(sweep.zb < sweep.za ? windows.at[0].s1 : 1 - windows.at[0].s0, 1);
    }
  }
  EXPECT_GT(covered, 20000);
}

// A sweep keeps its end only; where it begins and which move it is are found again, over jumps (a path may
// begin a move elsewhere) and arcs that became chords.
TEST(RecordSweeps, GiveBackTheEndsOfEveryMove) {
  std::mt19937 random(2);
  std::uniform_real_distribution<double> u(-20, 20);
  const auto place = [&] { return Vec3{u(random), u(random), u(random)}; };
  for (const bool with_chords : {false, true}) {
    Path path;
    Vec3 at = place();
    for (int n = 0; n < 500; ++n) {
      Move move;
      move.from = n % 7 == 3 ? place() : at;
      move.to = n % 11 == 5 ? move.from : place();
      move.kind = n % 3 == 0 ? MoveKind::rapid : n % 5 == 0 ? MoveKind::dwell : MoveKind::line;
      if (with_chords && n % 13 == 1) { // half a turn in the zx plane
        move.kind = MoveKind::arc;
        move.plane = ArcPlane::zx;
        move.turn_rad = 3.14159265f;
        move.centre = {0.5 * (move.from.z + move.to.z), 0.5 * (move.from.x + move.to.x)};
      }
      at = move.to;
      path.moves.push_back(move);
    }
    const Sweeps sweeps = sweeps_of(path, {true}, 0.01);
    EXPECT_EQ(with_chords, sweeps.size() > path.moves.size());
    for (std::uint32_t m = 0; m < path.moves.size(); ++m) {
      const std::uint32_t first = sweeps.count_at(m), last = sweeps.count_at(m + 1);
      ASSERT_LT(first, last);
      const Sweep begin = sweeps[first], end = sweeps[last - 1];
      const Move& move = path.moves[m];
      EXPECT_EQ(begin.a.x, move.from.x);
      EXPECT_EQ(begin.a.y, move.from.y);
      EXPECT_EQ(begin.za, move.from.z);
      EXPECT_NEAR(norm(Vec3{end.b.x, end.b.y, end.zb} - move.to), 0, 1e-12);
      EXPECT_EQ(begin.rapid, move.kind == MoveKind::rapid);
      EXPECT_EQ(sweeps.move_of(first), m);
      EXPECT_EQ(sweeps.move_of(last - 1), m);
    }
  }
}

} // namespace
} // namespace snagmap
