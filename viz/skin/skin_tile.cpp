// Dual contouring of one tile: one vertex for each piece of skin in a cell, quads round the crossings.
#include "viz/skin/cell_cycles.hpp"
#include "viz/skin/corner_fit.hpp"
#include "viz/skin/surfaces.hpp"
#include "viz/skin/tile_crossings.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

constexpr int kFloor = TileCrossings::kFloor;

class TileMesher : TileCrossings {
public:
  TileMesher(const FoamField& field, const TileRange& range) : TileCrossings(field, range), r_(range) {}

  SkinTile run() {
    SkinTile out;
    fit(out);
    connect(out);
    return out;
  }

private:
  unsigned corners(int i, int j, int k) const {
    unsigned mask = 0;
    for (int c = 0; c < 8; ++c)
      if (solid(i + (c & 1), j + (c >> 1 & 1), k + (c >> 2 & 1)))
        mask |= 1u << c;
    return mask;
  }
  unsigned joined_faces(int i, int j, int k, unsigned mask) const {
    unsigned joined = 0;
    const unsigned faces = alternating_faces(mask);
    for (int face = 0; faces && face < 6; ++face) {
      if (!(faces >> face & 1u) || !one_piece_twice(mask, face))
        continue;
      const int step = face & 1 ? 1 : -1, axis = face / 2;
      const int k2 = k + (axis == 2 ? step : 0);
      if (k2 < 0 || k2 + 1 >= levels())
        continue;
      const unsigned other = corners(i + (axis == 0 ? step : 0), j + (axis == 1 ? step : 0), k2);
      if (one_piece_twice(other, face ^ 1))
        joined |= 1u << face;
    }
    return joined;
  }
  /// The crossing on a cell's local edge.
  std::int32_t crossing_of(int i, int j, int k, int edge) const {
    const int corner = kEdgeCorners[static_cast<std::size_t>(edge)][0];
    return at(static_cast<std::size_t>(edge / 4),
              node(i + (corner & 1), j + (corner >> 1 & 1), k + (corner >> 2 & 1)));
  }

  // Cells (i, j, k) span nodes i..i+1; the tile fits one ring more than it owns, to close its quads.
  std::size_t cell(int i, int j, int k) const {
    const auto wide = static_cast<std::size_t>(r_.x1 - r_.x0 + 1);
    return (static_cast<std::size_t>(j - r_.y0 + 1) * wide + static_cast<std::size_t>(i - r_.x0 + 1)) *
               static_cast<std::size_t>(levels()) +
           static_cast<std::size_t>(k);
  }

  void fit(SkinTile& out) {
    const auto wide = static_cast<std::size_t>(r_.x1 - r_.x0 + 1),
               deep = static_cast<std::size_t>(r_.y1 - r_.y0 + 1);
    first_vertex_.assign(wide * deep * static_cast<std::size_t>(levels()), 0);
    cycles_.assign(first_vertex_.size(), 0);
    for (int j = r_.y0 - 1; j < r_.y1; ++j)
      for (int i = r_.x0 - 1; i < r_.x1; ++i)
        for (int k = 0; k + 1 < levels(); ++k) {
          if (within_floor(i, j))
            break;
          const unsigned mask = corners(i, j, k);
          if (mask == 0 || mask == 255)
            continue;
          const CellCycles cycles = cell_cycles(mask, joined_faces(i, j, k, mask));
          first_vertex_[cell(i, j, k)] = static_cast<std::uint32_t>(out.mesh.points.size());
          cycles_[cell(i, j, k)] = static_cast<std::uint32_t>(kept_.size());
          kept_.push_back(cycles);
          const Box3 bounds{{x(i), y(j), z(k)}, {x(i + 1), y(j + 1), z(k + 1)}};
          for (int piece = 0; piece < cycles.count; ++piece) {
            CornerFit corner;
            for (int e = 0; e < 12; ++e) {
              if (cycles.of[static_cast<std::size_t>(e)] != piece)
                continue;
              const Crossing& c = crossing(crossing_of(i, j, k, e));
              corner.add(c.place, c.normal);
            }
            out.mesh.points.push_back(corner.solve(bounds));
            const auto key =
                (static_cast<std::uint64_t>(j + 1) * static_cast<std::uint64_t>(columns_x() + 8) +
                 static_cast<std::uint64_t>(i + 1)) *
                    static_cast<std::uint64_t>(levels()) +
                static_cast<std::uint64_t>(k);
            const bool shared = i <= r_.x0 || i >= r_.x1 - 1 || j <= r_.y0 || j >= r_.y1 - 1;
            out.keys.push_back(shared ? key * 4 + static_cast<std::uint64_t>(piece) : kAlone);
          }
        }
  }

  /// All four nodes of the cell in one floor: its skin is the floor's.
  bool within_floor(int i, int j) const {
    return in_floor(i, j) && in_floor(i + 1, j) && in_floor(i, j + 1) && in_floor(i + 1, j + 1) &&
           (i - r_.x0 + kFloor) / kFloor == (i + 1 - r_.x0 + kFloor) / kFloor &&
           (j - r_.y0 + kFloor) / kFloor == (j + 1 - r_.y0 + kFloor) / kFloor;
  }

  std::uint32_t vertex(int i, int j, int k, int edge) const {
    const std::size_t c = cell(i, j, k);
    const int piece = kept_[cycles_[c]].of[static_cast<std::size_t>(edge)];
    return first_vertex_[c] + static_cast<std::uint32_t>(piece);
  }

  /// One quad round every crossing edge that the tile owns: those from its own nodes in cell numbering.
  void connect(SkinTile& out) {
    for (const Floor& floor : floors())
      for (int k = 0; k + 1 < levels(); ++k)
        if (solid(floor.i, floor.j, k) != solid(floor.i, floor.j, k + 1))
          fill_floor(out, floor, k);
    for (int j = r_.y0; j < r_.y1; ++j)
      for (int i = r_.x0; i < r_.x1; ++i)
        for (int k = 0; k < levels() && !inside_floor(i, j); ++k) {
          // Edge along each axis from node (i, j, k); the four cells around it, anticlockwise about the axis.
          const std::size_t n = node(i, j, k);
          if (at(0, n) >= 0 && k > 0)
            quad(out, 0, n, solid(i, j, k),
                 {vertex(i, j, k, 0), vertex(i, j - 1, k, 1), vertex(i, j - 1, k - 1, 3),
                  vertex(i, j, k - 1, 2)});
          if (at(1, n) >= 0 && k > 0)
            quad(out, 1, n, solid(i, j, k),
                 {vertex(i, j, k, 4), vertex(i, j, k - 1, 6), vertex(i - 1, j, k - 1, 7),
                  vertex(i - 1, j, k, 5)});
          if (at(2, n) >= 0 && !in_floor(i, j))
            quad(out, 2, n, solid(i, j, k),
                 {vertex(i, j, k, 8), vertex(i - 1, j, k, 9), vertex(i - 1, j - 1, k, 11),
                  vertex(i, j - 1, k, 10)});
        }
  }
  /// A fan from the floor's middle to the vertices around it, which its neighbours share; where a corner
  /// beside it juts so far that a triangle of the fan would turn over, the floor is filled cell by cell.
  void fill_floor(SkinTile& out, const Floor& floor, int k) {
    const int i = floor.i, j = floor.j, n = kFloor;
    const bool top = solid(i, j, k);
    const double h = height(i, j, k);
    // The cells around: (i - 1 .. i + n - 1) squared, rim only, anticlockwise from the lower left.
    std::vector<std::uint32_t> rim;
    const auto of = [&](int a, int b) {
      // The edge at the floor's own corner of the cell: 8 + 1 (x high) + 2 (y high).
      return vertex(a, b, k, 8 + (a < i ? 1 : 0) + (b < j ? 2 : 0));
    };
    for (int a = -1; a < n - 1; ++a)
      rim.push_back(of(i + a, j - 1));
    for (int b = -1; b < n - 1; ++b)
      rim.push_back(of(i + n - 1, j + b));
    for (int a = n - 1; a > -1; --a)
      rim.push_back(of(i + a, j + n - 1));
    for (int b = n - 1; b > -1; --b)
      rim.push_back(of(i - 1, j + b));
    const auto add = [&](Vec3 p) {
      out.mesh.points.push_back(p);
      out.keys.push_back(kAlone);
      return static_cast<std::uint32_t>(out.mesh.points.size() - 1);
    };
    const Vec3 middle{0.5 * (x(i) + x(i + n - 1)), 0.5 * (y(j) + y(j + n - 1)), h};
    const auto& p = out.mesh.points;
    bool simple = true;
    for (std::size_t e = 0; e < rim.size() && simple; ++e) {
      const Vec3 a = p[rim[e]], b = p[rim[(e + 1) % rim.size()]];
      simple = a.z == h && snagmap::cross(xy(a) - xy(middle), xy(b) - xy(middle)) > 0;
    }
    const auto triangle = [&](std::uint32_t a, std::uint32_t b, std::uint32_t c) {
      out.mesh.triangles.push_back(top ? Triangle{a, b, c} : Triangle{a, c, b});
    };
    if (simple) {
      const std::uint32_t centre = add(middle);
      for (std::size_t e = 0; e < rim.size(); ++e)
        triangle(centre, rim[e], rim[(e + 1) % rim.size()]);
      return;
    }
    std::vector<std::uint32_t> grid(static_cast<std::size_t>((n + 1) * (n + 1)));
    const auto filled = [&](int a, int b) -> std::uint32_t& {
      return grid[static_cast<std::size_t>((b + 1) * (n + 1) + a + 1)];
    };
    for (int b = -1; b < n; ++b)
      for (int a = -1; a < n; ++a) {
        const bool outer = a < 0 || b < 0 || a == n - 1 || b == n - 1;
        filled(a, b) = outer ? of(i + a, j + b)
                             : add({0.5 * (x(i + a) + x(i + a + 1)), 0.5 * (y(j + b) + y(j + b + 1)), h});
      }
    for (int b = 0; b < n; ++b)
      for (int a = 0; a < n; ++a) {
        triangle(filled(a, b), filled(a - 1, b), filled(a - 1, b - 1));
        triangle(filled(a, b), filled(a - 1, b - 1), filled(a, b - 1));
      }
  }
  void quad(SkinTile& out, std::size_t axis, std::size_t n, bool outward,
            std::array<std::uint32_t, 4> v) const {
    if (!outward)
      std::swap(v[1], v[3]);
    const Vec3 normal = crossing(at(axis, n)).normal;
    const auto& p = out.mesh.points;
    if (axis == 2 && normal.x == 0 && normal.y == 0 && p[v[0]].z == p[v[1]].z && p[v[1]].z == p[v[2]].z &&
        p[v[2]].z == p[v[3]].z) {
      out.mesh.triangles.push_back({v[0], v[1], v[2]}); // level: either diagonal serves
      out.mesh.triangles.push_back({v[0], v[2], v[3]});
      return;
    }
    // The diagonal whose worse triangle still faces the way the skin faces at the crossing.
    const auto worse = [&](const Triangle& s, const Triangle& t) {
      return std::min(dot(unit(area_vector(out.mesh, s)), normal),
                      dot(unit(area_vector(out.mesh, t)), normal));
    };
    const Triangle a{v[0], v[1], v[2]}, b{v[0], v[2], v[3]}, c{v[1], v[2], v[3]}, d{v[1], v[3], v[0]};
    const bool second = worse(c, d) > worse(a, b) + 1e-9;
    out.mesh.triangles.push_back(second ? c : a);
    out.mesh.triangles.push_back(second ? d : b);
  }

  const TileRange& r_;
  std::vector<std::uint32_t> first_vertex_, cycles_;
  std::vector<CellCycles> kept_;
};

} // namespace

SkinTile skin_tile(const FoamField& field, const TileRange& range) {
  return TileMesher(field, range).run();
}

} // namespace snagmap
