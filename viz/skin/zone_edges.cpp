// Triangles split where a zone ends on them.
#include "sim/threads/parallel.hpp"
#include "viz/skin/zones.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

constexpr int kSplits = 2; // a triangle's side is halved this many times at a zone's edge
constexpr int kSteps =
    16; // of the snag number under 1: its own gentle change within a zone asks for no split
constexpr std::size_t kBatch = 4096; // triangles done by one task

/// The triangles of one task; points of `pieces` are its own.
class Splitter {
public:
  Splitter(const Preview& preview, const Zones& zones, const Mesh& mesh)
      : preview_(&preview), zones_(&zones), mesh_(&mesh) {}
  void take(const Triangle& t) {
    const Vec3 a = mesh_->points[t[0]], b = mesh_->points[t[1]], c = mesh_->points[t[2]];
    const Vec2 low{std::min({a.x, b.x, c.x}), std::min({a.y, b.y, c.y})},
        high{std::max({a.x, b.x, c.x}), std::max({a.y, b.y, c.y})};
    if (!zones_->any(low, high)) {
      whole.push_back(t);
      whole_of.push_back(-1);
      return;
    }
    normal_ = unit(area_vector(*mesh_, t));
    const int here = at((1.0 / 3) * (a + b + c));
    if (alike(here, a, b, c)) {
      whole.push_back(t);
      whole_of.push_back(here);
      return;
    }
    split(a, b, c, kSplits);
  }
  std::vector<Triangle> whole;
  std::vector<int> whole_of;
  ZonedMesh pieces;

private:
  int at(Vec3 p) const { return zones_->at(p, normal_); }
  int step(int sample) const {
    if (sample < 0)
      return -1;
    return std::min(kSteps, static_cast<int>(kSteps * preview_->samples[static_cast<std::size_t>(sample)].s));
  }
  bool alike(int here, Vec3 a, Vec3 b, Vec3 c) const {
    const int wanted = step(here);
    return step(at(a)) == wanted && step(at(b)) == wanted && step(at(c)) == wanted;
  }
  void split(Vec3 a, Vec3 b, Vec3 c, int left) {
    const int here = at((1.0 / 3) * (a + b + c));
    if (left == 0 || alike(here, a, b, c)) {
      const auto first = static_cast<std::uint32_t>(pieces.mesh.points.size());
      pieces.mesh.points.insert(pieces.mesh.points.end(), {a, b, c});
      pieces.mesh.triangles.push_back({first, first + 1, first + 2});
      pieces.of.push_back(here);
      return;
    }
    const Vec3 ab = 0.5 * (a + b), bc = 0.5 * (b + c), ca = 0.5 * (c + a);
    split(a, ab, ca, left - 1);
    split(ab, b, bc, left - 1);
    split(ca, bc, c, left - 1);
    split(ab, bc, ca, left - 1);
  }
  const Preview* preview_;
  const Zones* zones_;
  const Mesh* mesh_;
  Vec3 normal_;
};

} // namespace

ZonedMesh split_at_zones(const Preview& preview, const Zones& zones, const Mesh& mesh) {
  const std::size_t n = mesh.triangles.size(), batches = (n + kBatch - 1) / kBatch;
  std::vector<Splitter> tasks(batches, Splitter(preview, zones, mesh));
  parallel_each(batches, [&](std::size_t b) {
    for (std::size_t i = b * kBatch; i < std::min(n, (b + 1) * kBatch); ++i)
      tasks[b].take(mesh.triangles[i]);
  });
  ZonedMesh out;
  out.mesh.points = mesh.points;
  for (const Splitter& task : tasks) {
    out.mesh.triangles.insert(out.mesh.triangles.end(), task.whole.begin(), task.whole.end());
    out.of.insert(out.of.end(), task.whole_of.begin(), task.whole_of.end());
    append(out.mesh, task.pieces.mesh);
    out.of.insert(out.of.end(), task.pieces.of.begin(), task.pieces.of.end());
  }
  return out;
}

} // namespace snagmap
