// Arcs against worked examples (plane geometry by hand), and against Eigen rotations by construction.
#include "sim/program/program.hpp"

#include <Eigen/Geometry>
#include <gtest/gtest.h>

#include <cmath>
#include <random>

using namespace snagmap;

namespace {

constexpr double kPi = 3.14159265358979323846;

Outcome<Path> read(const std::string& lines, Vec3 start) {
  ProgramOptions options;
  options.start_mm = start;
  options.arc_tolerance_mm = 0.002;
  return parse_program("S18000 M3 F1000\n" + lines + "\nM30\n", "test.nc", options);
}
Move last_arc(const std::string& lines, Vec3 start) {
  const auto path = read(lines, start);
  EXPECT_TRUE(path) << (path ? "" : to_text(path.faults().front()));
  if (!path || path->moves.empty())
    return {};
  EXPECT_EQ(path->moves.back().kind, MoveKind::arc);
  return path->moves.back();
}

struct Worked {
  const char* name;
  Vec3 start;
  const char* lines;
  Vec2 centre;
  double turn_deg, length;
  Vec3 middle;
};

} // namespace

class WorkedArc : public ::testing::TestWithParam<Worked> {};

// Values by hand from the circle's equation, to the six decimals printed.
TEST_P(WorkedArc, HasCentreTurnLengthAndMiddle) {
  const Worked& worked = GetParam();
  const Move arc = last_arc(worked.lines, worked.start);
  EXPECT_NEAR(arc.centre.x, worked.centre.x, 1e-6);
  EXPECT_NEAR(arc.centre.y, worked.centre.y, 1e-6);
  EXPECT_NEAR(arc_turn_rad(arc) * 180 / kPi, worked.turn_deg, 1e-6);
  EXPECT_NEAR(length_mm(arc), worked.length, 1e-6);
  const Vec3 middle = point_at(arc, 0.5);
  EXPECT_NEAR(middle.x, worked.middle.x, 1e-6);
  EXPECT_NEAR(middle.y, worked.middle.y, 1e-6);
  EXPECT_NEAR(middle.z, worked.middle.z, 1e-6);
}
INSTANTIATE_TEST_SUITE_P(
    ByHand, WorkedArc,
    ::testing::Values(
        Worked{"A1", {0, 0, 0}, "G2 X10 Y10 I10", {10, 0}, -90, 15.707963, {2.928932, 7.071068, 0}},
        Worked{"A2", {0, 0, 0}, "G3 X10 Y10 I10", {10, 0}, 270, 47.123890, {17.071068, -7.071068, 0}},
        Worked{"A4", {20, 0, 0}, "G2 X20 Y0 I-5", {15, 0}, -360, 31.415927, {10, 0, 0}},
        Worked{"A5", {0, 0, 0}, "G2 X10 Y0 R10", {5, -8.660254}, -60, 10.471976, {5, 1.339746, 0}},
        Worked{"A6", {0, 0, 0}, "G2 X10 Y0 R-10", {5, 8.660254}, -300, 52.359878, {5, 18.660254, 0}},
        Worked{"A7", {0, 0, 0}, "G3 X10 Y0 R10", {5, 8.660254}, 60, 10.471976, {5, -1.339746, 0}},
        Worked{"A8", {0, 0, 0}, "G3 X10 Y0 R-10", {5, -8.660254}, 300, 52.359878, {5, -18.660254, 0}},
        Worked{"A9", {10, 0, 0}, "G3 X0 Y10 Z-3 I-10", {0, 0}, 90, 15.991876, {7.071068, 7.071068, -1.5}},
        Worked{"A10", {12.5, 0, 0}, "G2 X12.5 Y0 Z-2 I-12.5", {0, 0}, -360, 78.565277, {-12.5, 0, -1}},
        // The centre of a G18 arc is stored as (z, x), the order that makes G3 anticlockwise from +Y.
        Worked{"A11", {0, 0, 0}, "G18 G2 X20 I10 K0", {0, 10}, -180, 31.415927, {10, 0, -10}},
        Worked{"A12", {0, 0, 0}, "G18 G3 X20 I10 K0", {0, 10}, 180, 31.415927, {10, 0, 10}},
        Worked{"A13", {0, 0, 0}, "G19 G2 Y20 J10 K0", {10, 0}, -180, 31.415927, {0, 10, 10}},
        Worked{"A14", {3, 4, 0}, "G2 X-4 Y3 I-3 J-4", {0, 0}, -270, 23.561945, {0.707107, -4.949747, 0}},
        Worked{"A15", {3, 4, 0}, "G3 X-4 Y3 I-3 J-4", {0, 0}, 90, 7.853982, {-0.707107, 4.949747, 0}},
        Worked{"A17",
               {0, 0, 0},
               "G2 X19.999 Y0 R10",
               {9.9995, -0.099999},
               -178.854080,
               31.215926,
               {9.9995, 9.900001, 0}}),
    [](const auto& of) { return std::string(of.param.name); });

// Radius rule 0.002 mm or 0.0002 inch: NIST RS274/NGC version 3 (NISTIR 6556), from memory.
TEST(ArcRadiusRule, AcceptsAndRefusesOnEitherSideOfTheTolerance) {
  const Vec3 origin{0, 0, 0};
  EXPECT_TRUE(read("G2 X10.0019 Y0 I5", origin));
  EXPECT_FALSE(read("G2 X10.0021 Y0 I5", origin));
  EXPECT_TRUE(read("G2 X20.001 Y0 R10", origin));
  EXPECT_FALSE(read("G2 X20.005 Y0 R10", origin));
  EXPECT_TRUE(read("G20\nG2 X0.50019 Y0 I0.25", origin));
  EXPECT_FALSE(read("G20\nG2 X0.50021 Y0 I0.25", origin));
}

TEST(ArcRadiusRule, LooserToleranceIsAskedForAndTheWorstMismatchIsTold) {
  ProgramOptions options;
  options.start_mm = {0, 0, 0};
  options.arc_tolerance_mm = 0.02;
  EXPECT_FALSE(parse_program("S1 M3 F100 G2 X10.03 Y0 I5\nM30\n", "t.nc", options));
  const auto path = parse_program("S1 M3 F100 G2 X10.01 Y0 I5\nM30\n", "t.nc", options);
  ASSERT_TRUE(path);
  bool told = false;
  for (const note::Remark& note : path->notes)
    told = told || (note.length_mm && std::abs(*note.length_mm - 0.01) < 1e-9);
  EXPECT_TRUE(told);
}

TEST(ArcRadiusRule, LongHalfChordWithinToleranceGivesAHalfTurn) {
  const Move arc = last_arc("G2 X20.001 Y0 R10", {0, 0, 0});
  EXPECT_NEAR(arc_turn_rad(arc), -kPi, 1e-12);
  EXPECT_NEAR(arc.centre.x, 10.0005, 1e-12);
}

// A point turned by Eigen about the plane's normal, with a linear climb, is the independent construction.
TEST(ArcAgainstEigen, RandomHelicesInAllPlanesFollowTheRotation) {
  std::mt19937_64 random(20240601);
  std::uniform_real_distribution<double> place(-50, 50), radius(2, 50), angle(0.05, 2 * kPi - 0.05),
      climb(-20, 20);
  for (int n = 0; n < 600; ++n) {
    const int plane = n % 3;
    const Eigen::Vector3d normal = plane == 0   ? Eigen::Vector3d::UnitZ()
                                   : plane == 1 ? Eigen::Vector3d::UnitY()
                                                : Eigen::Vector3d::UnitX();
    const Eigen::Vector3d side = plane == 2 ? Eigen::Vector3d::UnitY() : Eigen::Vector3d::UnitX();
    const bool anticlockwise = n / 3 % 2;
    const double r = radius(random), turn = (anticlockwise ? 1 : -1) * angle(random), rise = climb(random);
    const Eigen::Vector3d centre(place(random), place(random), place(random));
    const Eigen::Vector3d arm = Eigen::AngleAxisd(angle(random), normal) * (r * side);
    const auto along = [&](double s) {
      return Eigen::Vector3d(centre + Eigen::AngleAxisd(s * turn, normal) * arm + s * rise * normal);
    };
    const Eigen::Vector3d a = along(0), b = along(1);
    char line[256];
    const bool by_radius = n % 5 == 0 && std::abs(std::abs(turn) - kPi) > 0.2;
    if (by_radius)
      std::snprintf(line, sizeof line, "G%d G%d X%.12f Y%.12f Z%.12f R%.12f", 17 + plane,
                    anticlockwise ? 3 : 2, b.x(), b.y(), b.z(), std::abs(turn) < kPi ? r : -r);
    else {
      const Eigen::Vector3d offset = -arm;
      const char* form[3] = {"I%.12f J%.12f", "I%.12f K%.12f", "J%.12f K%.12f"};
      const double one = plane == 2 ? offset.y() : offset.x(), two = plane == 0 ? offset.y() : offset.z();
      char tail[64];
      std::snprintf(tail, sizeof tail, form[plane], one, two);
      std::snprintf(line, sizeof line, "G%d G%d X%.12f Y%.12f Z%.12f %s", 17 + plane, anticlockwise ? 3 : 2,
                    b.x(), b.y(), b.z(), tail);
    }
    const Move arc = last_arc(line, {a.x(), a.y(), a.z()});
    EXPECT_NEAR(arc_turn_rad(arc), turn, 1e-8) << line;
    EXPECT_NEAR(length_mm(arc), std::hypot(r * turn, rise), 1e-7) << line;
    for (const double s : {0.0, 0.17, 0.5, 0.83, 1.0}) {
      const Vec3 p = point_at(arc, s);
      const Eigen::Vector3d q = along(s);
      // Radius form: the centre moves by the words' rounding times r over its distance from the chord, under
      // 100 here.
      EXPECT_LT((Eigen::Vector3d(p.x, p.y, p.z) - q).norm(), by_radius ? 1e-8 : 1e-9) << line << " s " << s;
      const Eigen::Vector3d ahead = (along(s + 1e-6) - along(s - 1e-6)).normalized();
      const Vec3 d = direction_at(arc, s);
      EXPECT_LT((Eigen::Vector3d(d.x, d.y, d.z) - ahead).norm(), 1e-6) << line;
    }
  }
}
