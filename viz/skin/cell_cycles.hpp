// The loops a surface draws on the faces of one grid cell, from the signs of its corners.
#pragma once

#include <array>
#include <cstdint>

namespace snagmap {

/// Corner i of a cell stands at (i & 1, i >> 1 & 1, i >> 2 & 1). Edge e joins kEdgeCorners[e]: four along x,
/// then four along y, then four along z.
constexpr std::array<std::array<int, 2>, 12> kEdgeCorners = {
    {{0, 1}, {2, 3}, {4, 5}, {6, 7}, {0, 2}, {1, 3}, {4, 6}, {5, 7}, {0, 4}, {1, 5}, {2, 6}, {3, 7}}};

/// Faces: x low, x high, y low, y high, z low, z high.
struct CellCycles {
  int count = 0;                    ///< separate pieces of surface in the cell, 0 to 4
  std::array<std::int8_t, 12> of{}; ///< piece of each edge; -1: the edge does not cross
};

/// `solid`: bit i set when corner i lies in foam. On a face whose corners alternate, foam corners are kept
/// apart unless the face's bit is set in `joined`; both cells beside a face must be told the same. One vertex
/// for each piece (Nielson 2004, Dual Marching Cubes) keeps the mesh a manifold where one vertex for each
/// cell would pinch it.
CellCycles cell_cycles(unsigned solid, unsigned joined);

/// Bit of each face whose four corners alternate.
unsigned alternating_faces(unsigned solid);

/// On an alternating face, whether both strands that cross it belong to one piece of the cell: when that is
/// so on both sides, the two strands would become one mesh edge with four triangles, and the face must be
/// joined.
bool one_piece_twice(unsigned solid, int face);

} // namespace snagmap
