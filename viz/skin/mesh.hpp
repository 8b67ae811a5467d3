// A triangle mesh as flat arrays, millimetres; triangles anticlockwise seen from outside.
#pragma once

#include "models/base/vec.hpp"

#include <array>
#include <cstdint>
#include <vector>

namespace snagmap {

using Triangle = std::array<std::uint32_t, 3>;

struct Mesh {
  std::vector<Vec3> points;
  std::vector<Triangle> triangles;
};

inline Vec3 cross(Vec3 a, Vec3 b) {
  return {a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}
inline Vec3 unit(Vec3 a) {
  const double length = norm(a);
  return length > 0 ? (1 / length) * a : Vec3{};
}
/// Twice the area times the outward normal.
inline Vec3 area_vector(const Mesh& mesh, const Triangle& t) {
  const Vec3 a = mesh.points[t[0]];
  return cross(mesh.points[t[1]] - a, mesh.points[t[2]] - a);
}
double area_mm2(const Mesh& mesh);
/// Positive when the normals point outward.
double volume_mm3(const Mesh& mesh);
/// Adds b's triangles to a.
void append(Mesh& a, const Mesh& b);

} // namespace snagmap
