#include "viz/skin/mesh.hpp"

namespace snagmap {

double area_mm2(const Mesh& mesh) {
  double sum = 0;
  for (const Triangle& t : mesh.triangles)
    sum += norm(area_vector(mesh, t));
  return sum / 2;
}

double volume_mm3(const Mesh& mesh) {
  double sum = 0;
  for (const Triangle& t : mesh.triangles)
    sum += dot(mesh.points[t[0]], area_vector(mesh, t));
  return sum / 6; // the triple product a.(b-a)x(c-a) equals a.(b x c)
}

void append(Mesh& a, const Mesh& b) {
  const auto first = static_cast<std::uint32_t>(a.points.size());
  a.points.insert(a.points.end(), b.points.begin(), b.points.end());
  for (const Triangle& t : b.triangles)
    a.triangles.push_back({t[0] + first, t[1] + first, t[2] + first});
}

} // namespace snagmap
