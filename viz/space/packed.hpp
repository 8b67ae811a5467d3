// Meshes as few bytes, for a page that unpacks them (viz/space/unpack.js).
#pragma once

#include "viz/draw/cutter_mesh.hpp"

#include <cstdint>
#include <vector>

namespace snagmap {

/// A mesh on a grid of at most 65,536 places along each axis. `bytes` is a zlib stream of planes, each
/// holding one byte of every number: numbers are differences to the one before (modulo their range), so most
/// bytes are alike. Planes, low byte first: two for each of x, y, z, the colour's place in `palette`, the
/// mark, the lean, by point; three for the corners of the triangles, folded so that small differences of
/// either sign are small.
struct PackedMesh {
  std::uint32_t points = 0, triangles = 0;
  Vec3 low_mm;        ///< the grid's first place
  double step_mm = 1; ///< between two places; a point lies within half of it
  double lean_mm = 0; ///< what 65,535 means; 0: nothing leans
  std::vector<Colour> palette;
  std::vector<std::uint8_t> bytes;
};

/// What is told of a mesh beside its shape.
struct PackedWith {
  std::vector<int> marks;      ///< one a triangle, 0 to 65,535: what it belongs to; empty: none
  std::vector<double> lean_mm; ///< one a point, 0 or more: how far it goes; empty: stays
  double finest_mm = 0.01;     ///< the grid is no finer
};

/// Points are one where the grid, colour, mark and lean are the same; points of no triangle are left out, as
/// are triangles that the grid makes empty.
PackedMesh packed(const PaintedMesh& painted, const PackedWith& with = {});

} // namespace snagmap
