// Every cutter against closed forms of solid geometry (handbook of mathematics: sphere, torus by Pappus,
// cone, Steinmetz solid; capsule as in OpenVDB's own level-set tests) and against brute force over sampled
// poses.
#include "sim/probe/volumes.hpp"
#include "sim/record/data.hpp"
#include "tests/sim/record_fixture.hpp"

#include <functional>
#include <random>

using namespace snagmap;
using namespace snagmap::testing;

namespace {

const Box3 kBlock{{0, 0, -40}, {80, 60, 0}};

/// Heights are exact at column centres. Over a cell they differ from the centre's by at most half a voxel
/// times the slope, so the volume is off by half a voxel times the integral of the slope: outline times depth
/// for a body that falls from its rim to its deepest place without turning back.
double tolerance(double outline_mm, double depth_mm, double voxel_mm) {
  return 0.5 * voxel_mm * outline_mm * depth_mm;
}

CutterCard shaped(TipShape tip) {
  CutterCard card = flat_cutter(8, 25);
  card.tip = tip;
  card.corner_radius_mm = 1.5;
  card.tip_diameter_mm = tip == TipShape::drill_point ? 0 : 3;
  card.taper_deg = tip == TipShape::tapered ? 10 : tip == TipShape::chamfer ? 45 : 59;
  return card;
}

/// Arc of the tip in the zx or yz plane about `centre`.
Move upright_arc(ArcPlane plane, Vec3 centre, double ring, double angle0, double turn) {
  Move move;
  move.kind = MoveKind::arc;
  move.plane = plane;
  move.turn_rad = static_cast<float>(turn);
  const auto at = [&](double angle) {
    const double u = ring * std::cos(angle), v = ring * std::sin(angle);
    return plane == ArcPlane::zx ? Vec3{centre.x + v, centre.y, centre.z + u}
                                 : Vec3{centre.x, centre.y + u, centre.z + v};
  };
  move.from = at(angle0);
  move.to = at(angle0 + turn);
  move.centre = plane == ArcPlane::zx ? Vec2{centre.z, centre.x} : Vec2{centre.y, centre.z};
  return move;
}

/// A ball with nothing above it: swept along a line it is a capsule.
CutterCard sphere(double radius) {
  CutterCard card;
  card.name = "sphere";
  ProfilePiece half;
  half.z1_mm = 2 * radius;
  half.arc = true;
  half.centre_z_mm = radius;
  card.own_profile = {half};
  return card;
}

/// Underside of each shape over the distance from the axis, written out on its own.
double underside(TipShape tip, double d) {
  switch (tip) {
  case TipShape::flat:
    return 0;
  case TipShape::ball:
    return 4 - std::sqrt(16 - d * d);
  case TipShape::bull_nose:
    return d <= 2.5 ? 0 : 1.5 - std::sqrt(1.5 * 1.5 - (d - 2.5) * (d - 2.5));
  case TipShape::tapered:
    return d <= 1.5 ? 0 : (d - 1.5) / std::tan(10 * kPi / 180);
  case TipShape::chamfer:
    return d <= 1.5 ? 0 : d - 1.5;
  case TipShape::drill_point:
    return d / std::tan(59 * kPi / 180);
  }
  return 0;
}
constexpr TipShape kShapes[] = {TipShape::flat,    TipShape::bull_nose, TipShape::ball,
                                TipShape::tapered, TipShape::chamfer,   TipShape::drill_point};

/// Lowest and highest height of the swept body over p, from 10,000 poses along the move.
struct Brute {
  double low = 1e9, high = -1e9, nearest = 1e9;
};
Brute brute_force(TipShape tip, const Move& move, Vec2 p) {
  Brute out;
  constexpr int kPoses = 10000;
  for (int n = 0; n <= kPoses; ++n) {
    const Vec3 at = point_at(move, static_cast<double>(n) / kPoses);
    const double d = norm(p - xy(at));
    out.nearest = std::min(out.nearest, d);
    if (d > 4)
      continue;
    out.low = std::min(out.low, at.z + underside(tip, d));
    out.high = std::max(out.high, at.z + 25);
  }
  return out;
}

} // namespace

TEST(RecordShapes, CapsuleMatchesClosedForm) {
  const double r = 4;
  for (const Vec3 to : {Vec3{60, 30, -20}, Vec3{55, 41, -20}, Vec3{55, 35, -12}}) {
    const Vec3 from{20, 30, -20};
    const double length = norm(to - from), volume = kPi * r * r * length + 4.0 / 3 * kPi * r * r * r;
    for (double voxel : {0.5, 0.25}) {
      const auto record = cut(kBlock, {sphere(r)}, path_of({line(from, to)}), voxel);
      EXPECT_NEAR(removed_mm3(record)[0], volume, tolerance(2 * length + 2 * kPi * r, 2 * r, voxel));
    }
  }
}

TEST(RecordShapes, CrossingCylindersShareTheSteinmetzSolid) {
  const double r = 4, voxel = 0.25;
  const auto record =
      cut(kBlock, {sphere(r)},
          path_of({line({10, 30, -20}, {70, 30, -20}), line({40, 8, -20}, {40, 52, -20})}), voxel);
  const double alone = kPi * r * r * 44 + 4.0 / 3 * kPi * r * r * r;
  EXPECT_NEAR(alone - removed_mm3(record)[1], 16.0 / 3 * r * r * r,
              tolerance(2 * 44 + 2 * kPi * r, 2 * r, voxel));
}

TEST(RecordShapes, BallSlotMatchesClosedForm) {
  const double r = 4, depth = 10, length = 40, voxel = 0.25;
  const auto record =
      cut(kBlock, {shaped(TipShape::ball)}, path_of({line({20, 30, -depth}, {60, 30, -depth})}), voxel);
  const double section = kPi * r * r / 2 + 2 * r * (depth - r);
  const double ends = 2.0 / 3 * kPi * r * r * r + kPi * r * r * (depth - r);
  EXPECT_NEAR(removed_mm3(record)[0], section * length + ends,
              tolerance(2 * length + 2 * kPi * r, depth, voxel));
}

TEST(RecordShapes, BullNoseSlotMatchesClosedForm) {
  const double R = 4, c = 1.5, a = R - c, depth = 10, length = 40, voxel = 0.25;
  const auto record =
      cut(kBlock, {shaped(TipShape::bull_nose)}, path_of({line({20, 30, -depth}, {60, 30, -depth})}), voxel);
  const double section = 2 * R * depth - 2 * (1 - kPi / 4) * c * c;
  const double ends =
      kPi * (a * a * c + a * kPi * c * c / 2 + 2.0 / 3 * c * c * c) + kPi * R * R * (depth - c);
  EXPECT_NEAR(removed_mm3(record)[0], section * length + ends,
              tolerance(2 * length + 2 * kPi * R, depth, voxel));
}

TEST(RecordShapes, ConePlungesMatchClosedForms) {
  const double voxel = 0.1, depth = 8;
  const auto frustum = [](double r0, double r1, double h) {
    return kPi * h / 3 * (r0 * r0 + r0 * r1 + r1 * r1);
  };
  const auto plunge = [&](TipShape tip) {
    return removed_mm3(
        cut(kBlock, {shaped(tip)}, path_of({line({40.03, 30.04, 5}, {40.03, 30.04, -depth})}), voxel))[0];
  };
  const double t = tolerance(2 * kPi * 4, depth, voxel);
  EXPECT_NEAR(plunge(TipShape::tapered), frustum(1.5, 1.5 + depth * std::tan(10 * kPi / 180), depth), t);
  EXPECT_NEAR(plunge(TipShape::chamfer), frustum(1.5, 4, 2.5) + kPi * 16 * (depth - 2.5), t);
  const double point = 4 / std::tan(59 * kPi / 180);
  EXPECT_NEAR(plunge(TipShape::drill_point), frustum(0, 4, point) + kPi * 16 * (depth - point), t);
}

TEST(RecordShapes, UprightArcsMatchPappus) {
  // A ball along an arc in the zx and yz planes: the tube of a torus and two half balls. The chords stay
  // within 0.002 voxel, far below the tolerance of the columns.
  const double r = 3, ring = 9, voxel = 0.25;
  for (ArcPlane plane : {ArcPlane::zx, ArcPlane::yz}) {
    for (double turn : {1.2, -2.1}) {
      // Centre of the ball's way; the tip is one radius lower.
      const Move move = upright_arc(plane, {40, 30, -20 - r}, ring, 0.4, turn);
      const auto record = cut(kBlock, {sphere(r)}, path_of({move}), voxel);
      const double length = ring * std::abs(turn);
      EXPECT_NEAR(removed_mm3(record)[0], kPi * r * r * length + 4.0 / 3 * kPi * r * r * r,
                  tolerance(2 * length + 2 * kPi * r, 2 * r, voxel))
          << turn;
    }
  }
}

TEST(RecordShapes, EveryCutterMatchesTenThousandPoses) {
  std::mt19937 random(20);
  std::uniform_real_distribution<double> x(15, 65), y(15, 45), z(-30, -6), turn(-5, 5);
  int compared = 0;
  for (TipShape tip : kShapes) {
    for (int n = 0; n < 10; ++n) {
      const Vec3 from{x(random), y(random), z(random)};
      Move move = line(from, {x(random), y(random), n % 4 == 0 ? from.z : z(random)});
      if (n % 4 == 3)
        move.to = {from.x, from.y, z(random)};
      if (n % 4 == 2)
        move = arc(from, {from.x + 4, from.y - 7}, turn(random), n == 2 ? 0 : -0.3 * from.z - 8);
      if (n >= 8) // upright: rolling through the foam, part of the way under an overhang of its own
        move = upright_arc(n == 8 ? ArcPlane::zx : ArcPlane::yz, {40, 30, -17}, 9, 0.1 * turn(random),
                           0.3 * turn(random));
      const double step = length_mm(move) / 10000;
      // Between two poses the height changes by the move's and the profile's slope times half a step; the
      // profile is steepest at the rim of a ball, kept 0.05 mm away from.
      const double allowed =
          step * (2 + std::abs(move.to.z - move.from.z) / (1 + norm(xy(move.to) - xy(move.from))) + 8) +
          2e-4 + (n >= 8 ? 0.002 * (1 + 8) : 0); // chords within 0.002 of a voxel of 1 mm
      const auto record = cut(kBlock, {shaped(tip)}, path_of({move}), 1.0);
      for (int k = 0; k < 40; ++k) {
        const Vec3 near = point_at(move, 0.025 * k + 0.01);
        const Vec2 p{std::floor(near.x + (k % 9) - 4) + 0.5, std::floor(near.y + (k % 7) - 3) + 0.5};
        if (p.x < 0.5 || p.y < 0.5 || p.x > 79.5 || p.y > 59.5)
          continue;
        const Brute brute = brute_force(tip, move, p);
        if (brute.nearest > 3.95 && brute.nearest < 4.05)
          continue;
        const auto slabs = record.column(p, 1);
        if (brute.nearest > 4) {
          EXPECT_EQ(slabs.size(), 1u);
          continue;
        }
        ++compared;
        if (brute.low <= -40)
          continue;
        ASSERT_FALSE(slabs.empty());
        EXPECT_NEAR(slabs[0].high_mm, std::min(brute.low, 0.0), allowed) << to_text(tip) << " case " << n;
        if (brute.high < 0) {
          ASSERT_EQ(slabs.size(), 2u);
          EXPECT_NEAR(slabs[1].low_mm, brute.high, allowed) << to_text(tip);
        }
      }
    }
  }
  EXPECT_GT(compared, 800);
}

TEST(RecordShapes, WallsOfEveryCutterAreExact) {
  // The wall is where the ray leaves the swept body: found by halving on the brute-force heights.
  std::mt19937 random(4);
  std::uniform_real_distribution<double> off(-1, 1), angle(0, 2 * kPi);
  double worst = 0;
  for (TipShape tip : kShapes) {
    for (int n = 0; n < 8; ++n) {
      const Vec3 from{24 + 3 * off(random), 30 + 3 * off(random), -14 + off(random)};
      Move move =
          line(from, {56 + 3 * off(random), 30 + 4 * off(random), n % 2 ? from.z : from.z + 5 * off(random)});
      if (n >= 6)
        move = arc(from, {from.x + 14, from.y}, n == 6 ? 2.0 : -2.0, n == 6 ? 0 : 2);
      const auto record = cut(kBlock, {shaped(tip)}, path_of({move}), 0.5);
      const Vec3 eye = point_at(move, 0.5);
      const double z = eye.z + 1.1, phi = angle(random);
      const Vec2 d{std::cos(phi), std::sin(phi)};
      const Span span = record.look({eye.x, eye.y, z}, d, 60, 1);
      ASSERT_TRUE(span.hit);
      double in = span.gap_mm - 0.05, far = span.gap_mm + 0.05;
      const auto inside = [&](double u) {
        const Brute brute = brute_force(tip, move, xy(eye) + u * d);
        return brute.low <= z && z < brute.high;
      };
      EXPECT_TRUE(inside(in)) << to_text(tip) << " case " << n;
      EXPECT_FALSE(inside(far)) << to_text(tip) << " case " << n;
      for (int k = 0; k < 12; ++k)
        (inside(0.5 * (in + far)) ? in : far) = 0.5 * (in + far);
      worst = std::max(worst, std::abs(span.gap_mm - in));
    }
  }
  EXPECT_LT(worst, 0.02 * 0.5);
}

TEST(RecordShapes, DovetailLeavesTheFoamOverItsUndercut) {
  CutterCard card;
  card.name = "dovetail";
  card.own_profile = {{6, 0, 3, 6, false, 0, 0, Zone::flutes}, {2.5, 6, 2.5, 60, false, 0, 0, Zone::neck}};
  const auto record = cut(kBlock, {card}, path_of({line({-10, 30.25, -20}, {90, 30.25, -20})}), 0.5);
  const auto slabs = record.column({40.25, 30.25 + 4}, 1); // 4 mm aside the body is 0 .. 4 mm high
  ASSERT_EQ(slabs.size(), 2u);
  EXPECT_NEAR(slabs[0].high_mm, -20, 1e-5);
  EXPECT_NEAR(slabs[1].low_mm, -16, 1e-5);
  for (double above : {0.5, 3.0, 5.9}) {
    const Span span = record.look({40, 30.25, -20 + above}, {0, 1}, 20, 1);
    EXPECT_NEAR(span.gap_mm, 6 - above / 2, 1e-6);
  }
  ASSERT_EQ(record.touches().size(), 1u);
  EXPECT_EQ(record.touches()[0].zone, Zone::neck);
}

TEST(RecordShapes, AMoveSplitInTwoLeavesTheSameStock) {
  std::mt19937 random(8);
  std::uniform_real_distribution<double> x(10, 70), y(10, 50), z(-30, -4), share(0.1, 0.9);
  for (TipShape tip : kShapes) {
    const Move whole = line({x(random), y(random), z(random)}, {x(random), y(random), z(random)});
    const Vec3 middle = point_at(whole, share(random));
    const auto one = cut(kBlock, {shaped(tip)}, path_of({whole}), 0.5);
    const auto two =
        cut(kBlock, {shaped(tip)}, path_of({line(whole.from, middle), line(middle, whole.to)}), 0.5);
    int different = 0;
    for (double px = 0.25; px < 80; px += 0.5)
      for (double py = 0.25; py < 60; py += 0.5) {
        const auto a = one.column({px, py}, 1), b = two.column({px, py}, 2);
        bool same = a.size() == b.size();
        for (std::size_t n = 0; same && n < a.size(); ++n)
          same = std::abs(a[n].low_mm - b[n].low_mm) < 1e-4 && std::abs(a[n].high_mm - b[n].high_mm) < 1e-4;
        different += !same;
      }
    EXPECT_LE(different, 2) << to_text(tip) << ": only a column whose centre lies on the rim may differ";
  }
}

TEST(RecordShapes, MirroredAndTurnedProgramsGiveMirroredAndTurnedStock) {
  const Box3 square{{-30, -30, -30}, {30, 30, 0}};
  std::vector<Move> moves{line({-20, -11.3, 2}, {3.3, 9.1, -12}), arc({3.3, 9.1, -12}, {8, 3}, -2.4, -3),
                          line({10, 12, -9}, {-22, 15, -4})};
  std::vector<Move> mirrored = moves, turned = moves;
  for (Move& m : mirrored) {
    m.from.x = -m.from.x, m.to.x = -m.to.x, m.centre.x = -m.centre.x, m.turn_rad = -m.turn_rad;
  }
  for (Move& m : turned) {
    m.from = {-m.from.y, m.from.x, m.from.z}, m.to = {-m.to.y, m.to.x, m.to.z}, m.centre = left_of(m.centre);
  }
  for (TipShape tip : {TipShape::flat, TipShape::ball}) {
    const auto a = cut(square, {shaped(tip)}, path_of(moves)),
               b = cut(square, {shaped(tip)}, path_of(mirrored)),
               c = cut(square, {shaped(tip)}, path_of(turned));
    double worst_mirror = 0, worst_turn = 0;
    for (double x = -29.75; x < 30; x += 0.5)
      for (double y = -29.75; y < 30; y += 0.5) {
        worst_mirror = std::max(worst_mirror, std::abs(a.top_mm({x, y}, 3) - b.top_mm({-x, y}, 3)));
        worst_turn = std::max(worst_turn, std::abs(a.top_mm({x, y}, 3) - c.top_mm({-y, x}, 3)));
      }
    EXPECT_LT(worst_mirror, 2e-3); // ball helices are chords within 0.001 mm, steeper near the rim
    EXPECT_LT(worst_turn, 2e-3);
  }
}

TEST(RecordShapes, CoarserVoxelsConverge) {
  // Cells on the rim count whole or not at all, so the error of one slot falls at least in proportion to the
  // voxel (order 1 bound; order 1.5 on average over offsets, where rim cells err independently).
  std::mt19937 random(6);
  std::uniform_real_distribution<double> off(0, 1);
  const double area = 30 * 8 + kPi * 16, depth = 10;
  double rms[3] = {0, 0, 0};
  const double voxels[3] = {1, 0.5, 0.25};
  for (int n = 0; n < 30; ++n) {
    const double phi = 2 * kPi * off(random);
    const Vec2 u{15 * std::cos(phi), 15 * std::sin(phi)}, c{40 + off(random), 30 + off(random)};
    const Path path = path_of({line({c.x - u.x, c.y - u.y, -depth}, {c.x + u.x, c.y + u.y, -depth})});
    for (int k = 0; k < 3; ++k) {
      const double error =
          cut(kBlock, {flat_cutter(8, 25)}, path, voxels[k]).data().counted_mm3[0] - area * depth;
      rms[k] += error * error / 30;
    }
  }
  EXPECT_GT(std::log2(std::sqrt(rms[0] / rms[1])), 1.0);
  EXPECT_GT(std::log2(std::sqrt(rms[1] / rms[2])), 1.0);
}
