// Cutter radius compensation. Its motions are held against rs274 in rs274_corpus_test.cpp; here by what it is
// for: the cutter touches the contour and never cuts into it.
#include "tests/sim/program_read.hpp"

#include <fmt/format.h>

#include <cmath>

using namespace snagmap;

namespace {

ProgramOptions with_radius(double radius_mm) {
  ProgramOptions options = at_origin();
  options.cutter_radius_mm = {radius_mm};
  return options;
}
double from_segment(Vec2 p, Vec2 a, Vec2 b) {
  const Vec2 d = b - a;
  const double s = std::fmax(0, std::fmin(1, dot(p - a, d) / dot(d, d)));
  return norm(p - a - s * d);
}
std::string fault_of(const std::string& lines, const ProgramOptions& options) {
  const auto path = parse_program(lines + "\nM2\n", "t.nc", options);
  return path ? "(accepted)" : path.faults().front().what;
}
bool contains(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

} // namespace

// The offset of a polygon by its definition: at every moment the nearest place of the contour is one radius
// away.
TEST(Compensation, TheCutterTouchesThePolygonAndNeverCutsIntoIt) {
  const Vec2 corner[] = {{0, 0}, {30, 5}, {40, 30}, {15, 22}, {-10, 35}, {-12, 8}};
  for (const char* side : {"G41", "G42"})
    for (const double radius : {0.5, 2.0, 3.175}) {
      std::string text = "F100\nG0 X-14 Y-20\n" + std::string(side) + "\nG1 X0 Y0\n";
      for (const int i : {1, 2, 3, 4, 5, 0, 1})
        text += fmt::format("X{} Y{}\n", corner[i].x, corner[i].y);
      const Path path = read(text + "G40 X60 Y-20", with_radius(radius));
      double nearest = 1e9;
      for (std::size_t m = 0; m < path.moves.size(); ++m) {
        if (path.moves[m].line < 6 || path.moves[m].line > 10)
          continue; // the sides by which the contour is entered and left are open at one end
        for (int k = 0; k <= 200; ++k) {
          const Vec2 p = xy(point_at(path.moves[m], k / 200.0));
          double distance = 1e9;
          for (int i = 0; i < 6; ++i)
            distance = std::fmin(distance, from_segment(p, corner[i], corner[(i + 1) % 6]));
          nearest = std::fmin(nearest, distance);
          ASSERT_GE(distance, radius - 1e-9) << side << " " << radius << " move " << m;
          ASSERT_LE(distance, radius + 1e-9) << side << " " << radius << " move " << m;
        }
      }
      EXPECT_NEAR(nearest, radius, 1e-9);
      for (std::size_t m = 1; m < path.moves.size(); ++m)
        EXPECT_EQ(norm(path.moves[m].from - path.moves[m - 1].to), 0) << m;
    }
}

TEST(Compensation, TheRadiusComesFromTheCardOrFromD) {
  const std::string walk = "F100 G0 X0 Y-10\n{} G1 X0 Y0\nY20";
  const auto beside = [&](const std::string& code, const ProgramOptions& options) {
    return last(fmt::format(fmt::runtime(walk), code), options).x;
  };
  EXPECT_NEAR(beside("G41", with_radius(3)), -3, 1e-12);
  EXPECT_NEAR(beside("G42", with_radius(3)), 3, 1e-12);
  EXPECT_NEAR(beside("G41.1 D4", with_radius(3)), -2, 1e-12); // a diameter
  EXPECT_NEAR(beside("G10 L1 P2 R1.5\nG41 D2", with_radius(3)), -1.5, 1e-12);
  ProgramOptions two = with_radius(3);
  two.cutter_radius_mm = {3, 1};
  two.tool_index = {{1, 0}, {2, 1}};
  EXPECT_NEAR(beside("T1 M6\nG41 D2", two), -1, 1e-12);
  EXPECT_NEAR(beside("T2 M6\nG41", two), -1, 1e-12);
  EXPECT_TRUE(contains(fault_of("G41 D3", two), "names no cutter"));
}

TEST(Compensation, GougesAreRefusedWithThePlace) {
  const ProgramOptions options = with_radius(2);
  const std::string enter = "F100 G0 X0 Y-10\nG41 G1 X0 Y0\n";
  EXPECT_TRUE(contains(fault_of(enter + "Y10\nX-1\nY20", options), "inside corner under G41 at X0 Y10 mm"));
  EXPECT_TRUE(contains(fault_of(enter + "G3 X-1 Y1 I-1", options), "does not fit into it"));
  EXPECT_TRUE(contains(fault_of("F100 G41 G1 X1", options), "the entry move is 1 mm long"));
  EXPECT_TRUE(contains(fault_of("F100 G41 G2 X20 I10", options), "begins on an arc"));
  EXPECT_TRUE(
      contains(fault_of(enter + "Y10\nG40\nG2 X10 I5", options), "end of cutter compensation is an arc"));
  for (const char* line :
       {"G28", "G53 G0 X1", "G81 X1 Z-1 R1", "G92 X0", "G18", "G55", "T1 M6", "G42", "G10 L20 P1 X0"})
    EXPECT_NE(fault_of(enter + line, options), "(accepted)") << line;
}

TEST(Compensation, ItEndsBesideTheContourAndTheNextMoveGoesToThePlaceWritten) {
  const Path path = read("F100 G0 X0 Y-10 Z1\nG41 G1 X0 Y0\nY20\nG40\nZ5\nX7", with_radius(2));
  const std::size_t n = path.moves.size();
  expect_at(path.moves[n - 3].to, -2, 20, 1);
  expect_at(path.moves[n - 2].to, 0, 20, 5);
  expect_at(path.moves[n - 1].to, 7, 20, 5);
}

TEST(Compensation, GrblHasNone) {
  ProgramOptions options = with_radius(2);
  options.dialect = Dialect::grbl;
  EXPECT_TRUE(contains(fault_of("F100 G41 G1 X20", options), "GRBL has no cutter radius compensation"));
}
