// Where on the foam's skin each finding lies: samples of the path laid onto walls.
#pragma once

#include "sim/preview/preview.hpp"
#include "viz/skin/mesh.hpp"

#include <vector>

namespace snagmap {

/// Finds the sample with the highest snag number whose web a place of the finished skin belongs to. A thin
/// web is painted whole, of a thick one only the face beside the cutter and its rim; walls that a later pass
/// takes away are not painted, since at the end they are not there.
class Zones {
public:
  explicit Zones(const Preview& preview);
  /// Index into preview.samples; -1 where nothing was found. `normal` is the skin's; floors at a web's foot
  /// are not the web.
  int at(Vec3 place, Vec3 normal) const;
  /// For each triangle, by its middle.
  std::vector<int> of(const Mesh& mesh) const;
  /// Whether anything may be painted in a rectangle in plan.
  bool any(Vec2 low, Vec2 high) const;
  Level level(int sample) const;
  /// Whether the sample found a web whose wall still stands at the end.
  bool stands(std::size_t sample) const { return stands_[sample]; }

private:
  std::size_t bucket(double x, double y) const;
  const Preview* preview_;
  double side_mm_ = 8;
  Vec2 corner_;
  int across_ = 1, deep_ = 1;
  std::vector<std::vector<int>> buckets_;
  std::vector<float> half_along_mm_; // by sample: how far its strip reaches along the wall, either way
  std::vector<char> web_tears_, stands_;
};

/// A mesh and, for each triangle, the sample whose web it shows; -1 where nothing was found.
struct ZonedMesh {
  Mesh mesh;
  std::vector<int> of;
};
/// Lays zones on a mesh. Triangles that a zone's edge crosses are split, so that edges run straighter than
/// the mesh's own cells; the pieces share no points with their neighbours.
ZonedMesh split_at_zones(const Preview& preview, const Zones& zones, const Mesh& mesh);

/// The level a sample shows: its snag number's, its web's word where that is 1 or more.
Level level_of_s(double s, double lean_mm, double tolerance_mm, bool tears);

} // namespace snagmap
