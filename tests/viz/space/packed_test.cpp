// Packed meshes: what comes out is what went in, within half of the grid.
#include "viz/space/packed.hpp"

#include "tests/viz/mesh_checks.hpp"
#include "tests/viz/space/unpacked.hpp"

#include <gtest/gtest.h>

#include <random>
#include <set>

using namespace snagmap;

namespace {

/// A closed sphere of many triangles, painted in three colours by its height.
PaintedMesh sphere(int rings, int round, double radius_mm, Vec3 middle) {
  PaintedMesh out;
  for (int i = 0; i <= rings; ++i)
    for (int k = 0; k < round; ++k) {
      const double a = M_PI * i / rings, b = 2 * M_PI * k / round;
      out.mesh.points.push_back(middle + Vec3{radius_mm * std::sin(a) * std::cos(b),
                                              radius_mm * std::sin(a) * std::sin(b),
                                              radius_mm * std::cos(a)});
    }
  for (int i = 0; i < rings; ++i)
    for (int k = 0; k < round; ++k) {
      const auto at = [&](int row, int place) {
        return static_cast<std::uint32_t>(row * round + place % round);
      };
      if (i > 0)
        out.mesh.triangles.push_back({at(i, k), at(i + 1, k), at(i, k + 1)});
      if (i + 1 < rings)
        out.mesh.triangles.push_back({at(i, k + 1), at(i + 1, k), at(i + 1, k + 1)});
      while (out.colours.size() < out.mesh.triangles.size())
        out.colours.push_back(i < rings / 3 ? kAlarm : i < 2 * rings / 3 ? kFoam : kFlutes);
    }
  return out;
}

} // namespace

TEST(Packed, EveryTriangleComesOutWithinHalfAGridStepInItsColour) {
  const PaintedMesh in = sphere(40, 60, 120, {1000, -300, 7});
  const PackedMesh packed_mesh = packed(in);
  const Unpacked out = unpacked(packed_mesh);
  ASSERT_EQ(out.triangles.size(), in.mesh.triangles.size());
  // 240 mm over 65,535 steps would be finer than asked for.
  EXPECT_EQ(packed_mesh.step_mm, 0.01);
  for (std::size_t i = 0; i < in.mesh.triangles.size(); ++i)
    for (std::size_t c = 0; c < 3; ++c) {
      const std::uint32_t corner = out.triangles[i][c];
      const Vec3 d = out.points[corner] - in.mesh.points[in.mesh.triangles[i][c]];
      for (const double off : {d.x, d.y, d.z})
        EXPECT_LE(std::abs(off), 0.5 * packed_mesh.step_mm + 1e-9);
      EXPECT_TRUE(out.colours[corner] == in.colours[i]);
    }
  // Plain, in floats and 32-bit numbers, it would be 12 bytes a point and 12 a triangle.
  EXPECT_LT(packed_mesh.bytes.size(), (12 * in.mesh.points.size() + 12 * in.mesh.triangles.size()) / 2);
}

TEST(Packed, ALargeMeshUsesAllPlacesOfTheGrid) {
  PaintedMesh in = sphere(10, 12, 1000, {});
  const PackedMesh mesh = packed(in);
  EXPECT_NEAR(mesh.step_mm, 2000.0 / 65535, 1e-9);
  double far = 0;
  for (const Vec3& p : unpacked(mesh).points)
    far = std::max(far, p.z);
  EXPECT_NEAR(far, 1000, 0.5 * mesh.step_mm + 1e-9);
}

TEST(Packed, MarksAndLeanStayWithTheirPoints) {
  PaintedMesh in = sphere(12, 16, 30, {});
  PackedWith with;
  for (std::size_t i = 0; i < in.mesh.triangles.size(); ++i)
    with.marks.push_back(static_cast<int>(i % 2 ? 65535 : i % 7));
  for (const Vec3& p : in.mesh.points)
    with.lean_mm.push_back(std::max(0.0, 0.1 * p.z));
  const PackedMesh mesh = packed(in, with);
  const Unpacked out = unpacked(mesh);
  EXPECT_NEAR(mesh.lean_mm, 3, 1e-12);
  for (std::size_t i = 0; i < in.mesh.triangles.size(); ++i)
    for (std::size_t c = 0; c < 3; ++c) {
      EXPECT_EQ(out.marks[out.triangles[i][c]], with.marks[i]);
      EXPECT_NEAR(out.lean_mm[out.triangles[i][c]], with.lean_mm[in.mesh.triangles[i][c]],
                  0.5 * mesh.lean_mm / 65535 + 1e-9);
    }
}

TEST(Packed, TrianglesTheGridMakesEmptyAndUnusedPointsAreLeftOut) {
  PaintedMesh in;
  in.mesh.points = {{0, 0, 0}, {10, 0, 0}, {0, 10, 0}, {10.001, 0, 0}, {5, 5, 5}};
  in.mesh.triangles = {{0, 1, 2}, {1, 3, 2}};
  in.colours = {kFoam, kFoam};
  const Unpacked out = unpacked(packed(in));
  EXPECT_EQ(out.triangles.size(), 1u);
  EXPECT_EQ(out.points.size(), 3u);
  EXPECT_EQ(packed({}).triangles, 0u);
}
