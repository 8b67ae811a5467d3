#include "viz/skin/cell_cycles.hpp"

namespace snagmap {
namespace {

/// Corners of each face in order around it.
constexpr int kFaceCorners[6][4] = {{0, 2, 6, 4}, {1, 3, 7, 5}, {0, 1, 5, 4},
                                    {2, 3, 7, 6}, {0, 1, 3, 2}, {4, 5, 7, 6}};

int edge_between(int a, int b) {
  for (int e = 0; e < 12; ++e) {
    const auto& ends = kEdgeCorners[static_cast<std::size_t>(e)];
    if ((ends[0] == a && ends[1] == b) || (ends[0] == b && ends[1] == a))
      return e;
  }
  return -1;
}

/// Edge k of a face joins its corners k and k + 1.
const std::array<std::array<int, 4>, 6>& face_edges() {
  static const auto table = [] {
    std::array<std::array<int, 4>, 6> t{};
    for (std::size_t f = 0; f < 6; ++f)
      for (std::size_t k = 0; k < 4; ++k)
        t[f][k] = edge_between(kFaceCorners[f][k], kFaceCorners[f][(k + 1) % 4]);
    return t;
  }();
  return table;
}

bool is_solid(unsigned solid, int corner) {
  return solid >> corner & 1u;
}

CellCycles traced(unsigned solid, unsigned joined) {
  int links[12][2], degree[12] = {};
  const auto link = [&](int a, int b) {
    links[a][degree[a]++] = b;
    links[b][degree[b]++] = a;
  };
  for (std::size_t f = 0; f < 6; ++f) {
    const auto& edges = face_edges()[f];
    int crossing[4], n = 0;
    for (std::size_t k = 0; k < 4; ++k)
      if (is_solid(solid, kFaceCorners[f][k]) != is_solid(solid, kFaceCorners[f][(k + 1) % 4]))
        crossing[n++] = edges[k];
    if (n == 2)
      link(crossing[0], crossing[1]);
    if (n != 4)
      continue;
    // The two edges at a corner are linked: at the foam corners, or at the air corners when joined.
    const bool at_first = is_solid(solid, kFaceCorners[f][0]) != static_cast<bool>(joined >> f & 1u);
    if (at_first)
      link(edges[3], edges[0]), link(edges[1], edges[2]);
    else
      link(edges[0], edges[1]), link(edges[2], edges[3]);
  }
  CellCycles cycles;
  cycles.of.fill(-1);
  for (int first = 0; first < 12; ++first) {
    if (degree[first] == 0 || cycles.of[static_cast<std::size_t>(first)] >= 0)
      continue;
    int from = -1, at = first;
    do {
      cycles.of[static_cast<std::size_t>(at)] = static_cast<std::int8_t>(cycles.count);
      const int next = links[at][0] != from || links[at][0] == links[at][1] ? links[at][0] : links[at][1];
      from = at;
      at = next;
    } while (at != first);
    ++cycles.count;
  }
  return cycles;
}

} // namespace

CellCycles cell_cycles(unsigned solid, unsigned joined) {
  static const auto table = [] {
    std::array<CellCycles, 256> t;
    for (unsigned mask = 0; mask < 256; ++mask)
      t[mask] = traced(mask, 0);
    return t;
  }();
  return joined ? traced(solid, joined) : table[solid];
}

unsigned alternating_faces(unsigned solid) {
  unsigned faces = 0;
  for (std::size_t f = 0; f < 6; ++f) {
    const bool a = is_solid(solid, kFaceCorners[f][0]);
    if (is_solid(solid, kFaceCorners[f][2]) == a && is_solid(solid, kFaceCorners[f][1]) != a &&
        is_solid(solid, kFaceCorners[f][3]) != a)
      faces |= 1u << f;
  }
  return faces;
}

bool one_piece_twice(unsigned solid, int face) {
  const CellCycles cycles = cell_cycles(solid, 0);
  const auto& edges = face_edges()[static_cast<std::size_t>(face)];
  return cycles.of[static_cast<std::size_t>(edges[0])] == cycles.of[static_cast<std::size_t>(edges[2])] &&
         cycles.of[static_cast<std::size_t>(edges[1])] == cycles.of[static_cast<std::size_t>(edges[3])] &&
         cycles.of[static_cast<std::size_t>(edges[0])] == cycles.of[static_cast<std::size_t>(edges[1])];
}

} // namespace snagmap
