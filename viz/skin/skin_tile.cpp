// Dual contouring of one tile: signs, exact crossings, one vertex for each piece of skin in a cell, quads.
#include "viz/skin/cell_cycles.hpp"
#include "viz/skin/corner_fit.hpp"
#include "viz/skin/surfaces.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

constexpr int kRing =
    2; // nodes gathered beyond the tile: one for the cells that close its quads, one for what they ask

constexpr int kFloor = 16; // cells a side of a floor drawn as one
constexpr char kRim = 1, kInner = 2;

struct Crossing {
  Vec3 place, normal; ///< normal points to the air
};

class TileMesher {
public:
  TileMesher(const FoamField& field, const TileRange& range)
      : f_(field), r_(range), i0_(range.x0 - kRing), j0_(range.y0 - kRing),
        ni_(range.x1 - range.x0 + 1 + 2 * kRing), nj_(range.y1 - range.y0 + 1 + 2 * kRing),
        nk_(static_cast<int>(field.levels_mm.size())) {}

  SkinTile run() {
    gather();
    find_floors();
    cross();
    SkinTile out;
    fit(out);
    connect(out);
    return out;
  }

private:
  // Node (i, j, k): global column indices; column 0 and the last stand outside the sheet, in air.
  int columns_x() const { return static_cast<int>(f_.xs_mm.size()); }
  int columns_y() const { return static_cast<int>(f_.ys_mm.size()); }
  static double place(const std::vector<double>& at, int i) {
    // Nodes beyond the sheet mirror the outermost column in the face, well clear of it.
    const int n = static_cast<int>(at.size());
    const double step = n > 1 ? at[1] - at[0] : 1;
    if (i < 1)
      return at.front() - step * (1 - i);
    if (i > n)
      return at.back() + step * (i - n);
    return at[static_cast<std::size_t>(i - 1)];
  }
  double x(int i) const { return place(f_.xs_mm, i); }
  double y(int j) const { return place(f_.ys_mm, j); }
  double z(int k) const { return f_.levels_mm[static_cast<std::size_t>(k)]; }
  bool inside(int i, int j) const { return i >= 1 && i <= columns_x() && j >= 1 && j <= columns_y(); }
  std::size_t column_index(int i, int j) const {
    return static_cast<std::size_t>(j - j0_) * static_cast<std::size_t>(ni_) +
           static_cast<std::size_t>(i - i0_);
  }
  std::size_t node(int i, int j, int k) const {
    return column_index(i, j) * static_cast<std::size_t>(nk_) + static_cast<std::size_t>(k);
  }
  bool solid(int i, int j, int k) const { return solid_[node(i, j, k)]; }

  void gather() {
    slabs_.resize(static_cast<std::size_t>(ni_) * static_cast<std::size_t>(nj_));
    solid_.assign(slabs_.size() * static_cast<std::size_t>(nk_), 0);
    for (int j = j0_; j < j0_ + nj_; ++j)
      for (int i = i0_; i < i0_ + ni_; ++i) {
        if (!inside(i, j))
          continue;
        auto& column = slabs_[column_index(i, j)];
        column = f_.column({x(i), y(j)});
        for (const Slab& slab : column)
          for (int k = 0; k < nk_; ++k)
            if (z(k) > slab.low_mm && z(k) < slab.high_mm)
              solid_[node(i, j, k)] = 1;
      }
  }

  /// Blocks of nodes whose columns are alike to the last bit: every skin inside lies level.
  struct Floor {
    int i = 0, j = 0; ///< first node
  };
  void find_floors() {
    floor_.assign(slabs_.size(), 0);
    if (!f_.keep_fine)
      return;
    for (int j = r_.y0; j + kFloor <= r_.y1; j += kFloor)
      for (int i = r_.x0; i + kFloor <= r_.x1; i += kFloor) {
        if (i < 1 || j < 1 || !alike(i, j) ||
            f_.keep_fine({x(i - 1), y(j - 1)}, {x(i + kFloor), y(j + kFloor)}))
          continue;
        floors_.push_back({i, j});
        for (int b = j; b < j + kFloor; ++b)
          for (int a = i; a < i + kFloor; ++a) {
            const bool rim = a == i || b == j || a == i + kFloor - 1 || b == j + kFloor - 1;
            floor_[column_index(a, b)] = rim ? kRim : kInner;
          }
      }
  }
  bool alike(int i, int j) const {
    const auto& first = slabs_[column_index(i, j)];
    for (int b = j; b < j + kFloor; ++b)
      for (int a = i; a < i + kFloor; ++a) {
        const auto& other = slabs_[column_index(a, b)];
        if (!inside(a, b) || other.size() != first.size())
          return false;
        for (std::size_t s = 0; s < first.size(); ++s)
          if (other[s].low_mm != first[s].low_mm || other[s].high_mm != first[s].high_mm)
            return false;
      }
    return true;
  }

  /// Height where the column's foam begins or ends between levels k and k + 1; the middle when slabs
  /// disagree.
  double height(int i, int j, int k) const {
    const bool top = solid(i, j, k); // foam below, air above
    for (const Slab& slab : slabs_[column_index(i, j)]) {
      const double h = top ? slab.high_mm : slab.low_mm;
      if (h >= z(k) && h <= z(k + 1))
        return h;
    }
    return 0.5 * (z(k) + z(k + 1));
  }
  /// Same, at a neighbour whose crossing may lie one level off; false when there is none.
  bool height_near(int i, int j, int k, bool top, double& h) const {
    for (const int n : {k, k - 1, k + 1}) {
      if (n < 0 || n + 1 >= nk_ || solid(i, j, n) == solid(i, j, n + 1) || solid(i, j, n) != top)
        continue;
      h = height(i, j, n);
      return true;
    }
    return false;
  }
  /// Slope from the one or two neighbours on the same sheet; of two that disagree the flatter, which is right
  /// beside a step.
  static double slope(bool has_a, double a, bool has_b, double b) {
    if (has_a && has_b)
      return std::abs(a - b) < 0.2 * (std::abs(a) + std::abs(b)) ? 0.5 * (a + b)
             : std::abs(a) < std::abs(b)                         ? a
                                                                 : b;
    return has_a ? a : has_b ? b : 0;
  }

  Crossing vertical(int i, int j, int k) const {
    const bool top = solid(i, j, k);
    Crossing c{{x(i), y(j), height(i, j, k)}, {0, 0, top ? 1.0 : -1.0}};
    if (f_.level_floors)
      return c;
    double a = 0, b = 0, slopes[2] = {0, 0};
    for (int axis = 0; axis < 2; ++axis) {
      const int di = axis == 0, dj = axis == 1;
      const double step_a = di ? x(i) - x(i - 1) : y(j) - y(j - 1),
                   step_b = di ? x(i + 1) - x(i) : y(j + 1) - y(j);
      const bool has_a = height_near(i - di, j - dj, k, top, a),
                 has_b = height_near(i + di, j + dj, k, top, b);
      slopes[axis] = slope(has_a, (c.place.z - a) / step_a, has_b, (b - c.place.z) / step_b);
    }
    const double sign = top ? 1 : -1;
    c.normal = unit({-sign * slopes[0], -sign * slopes[1], sign});
    return c;
  }

  /// Wall between two neighbouring columns at a level. `d` is the node step in plan.
  Crossing sideways(int i, int j, int k, int di, int dj) const {
    const bool first_solid = solid(i, j, k);
    const int ai = first_solid ? i + di : i, aj = first_solid ? j + dj : j; // the air node
    const Vec2 dir = (first_solid ? -1.0 : 1.0) * Vec2{static_cast<double>(di), static_cast<double>(dj)};
    const Vec3 air{x(ai), y(aj), z(k)}, to{x(first_solid ? i : i + di), y(first_solid ? j : j + dj), z(k)};
    const double span = norm(xy(to) - xy(air));
    const Vec3 back{-dir.x, -dir.y, 0};
    if (!inside(ai, aj)) { // the sheet's own side
      Crossing c{to, back};
      if (di)
        c.place.x = dir.x > 0 ? f_.box.low.x : f_.box.high.x;
      else
        c.place.y = dir.y > 0 ? f_.box.low.y : f_.box.high.y;
      return c;
    }
    const double gap = std::min(f_.gap(air, dir, span), span);
    const Vec3 along{dir.x, dir.y, 0};
    // Slope of the wall in plan from two looks a little to either side.
    const Vec2 side = left_of(dir);
    const double shift = span / 8, cap = 4 * span;
    const auto aside = [&](double s, double& g) {
      const Vec3 from{air.x + s * side.x, air.y + s * side.y, air.z};
      g = f_.gap(from, dir, cap);
      return g > 0 && g < cap;
    };
    double a = 0, b = 0;
    const bool has_a = aside(-shift, a), has_b = aside(shift, b);
    const double plan = slope(has_a, (gap - a) / shift, has_b, (b - gap) / shift);
    double tilt = 0;
    if (!f_.upright_walls) {
      const double rise = 0.125 * span;
      const auto above = [&](double s, double& g) {
        g = f_.gap(air + Vec3{0, 0, s}, dir, cap);
        return g > 0 && g < cap;
      };
      const bool has_low = above(-rise, a), has_high = above(rise, b);
      tilt = slope(has_low, (gap - a) / rise, has_high, (b - gap) / rise);
    }
    return {air + gap * along, unit(Vec3{-dir.x + plan * side.x, -dir.y + plan * side.y, tilt})};
  }

  void cross() {
    for (auto& list : at_)
      list.assign(solid_.size(), -1);
    // Crossings of the cells fitted: one ring around the tile.
    const int i_end = r_.x1, j_end = r_.y1;
    for (int j = r_.y0 - 1; j <= j_end; ++j)
      for (int i = r_.x0 - 1; i <= i_end; ++i)
        for (int k = 0; k < nk_ && floor_[column_index(i, j)] != kInner; ++k) {
          const bool here = solid(i, j, k);
          if (i < i_end && solid(i + 1, j, k) != here)
            keep(0, i, j, k, sideways_again(i, j, k, 1, 0));
          if (j < j_end && solid(i, j + 1, k) != here)
            keep(1, i, j, k, sideways_again(i, j, k, 0, 1));
          if (k + 1 < nk_ && solid(i, j, k + 1) != here)
            keep(2, i, j, k, vertical(i, j, k));
        }
  }
  void keep(std::size_t axis, int i, int j, int k, const Crossing& c) {
    at_[axis][node(i, j, k)] = static_cast<std::int32_t>(crossings_.size());
    crossings_.push_back(c);
  }
  /// An upright wall that stands where it stood one level below needs one look, not three.
  Crossing sideways_again(int i, int j, int k, int di, int dj) const {
    const std::int32_t below = k > 0 ? at_[di ? 0 : 1][node(i, j, k - 1)] : -1;
    if (below >= 0 && f_.upright_walls && solid(i, j, k) == solid(i, j, k - 1) && inside(i, j) &&
        inside(i + di, j + dj)) {
      const Crossing& known = crossings_[static_cast<std::size_t>(below)];
      const bool first_solid = solid(i, j, k);
      const Vec2 air = first_solid ? Vec2{x(i + di), y(j + dj)} : Vec2{x(i), y(j)};
      const Vec2 dir = (first_solid ? -1.0 : 1.0) * Vec2{static_cast<double>(di), static_cast<double>(dj)};
      const double span = di ? x(i + 1) - x(i) : y(j + 1) - y(j);
      const double gap = std::min(f_.gap({air.x, air.y, z(k)}, dir, span), span);
      if (std::abs(gap - norm(xy(known.place) - air)) < 1e-9)
        return {{known.place.x, known.place.y, z(k)}, known.normal};
    }
    return sideways(i, j, k, di, dj);
  }

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
      if (k2 < 0 || k2 + 1 >= nk_)
        continue;
      const unsigned other = corners(i + (axis == 0 ? step : 0), j + (axis == 1 ? step : 0), k2);
      if (one_piece_twice(other, face ^ 1))
        joined |= 1u << face;
    }
    return joined;
  }
  /// The crossing on a cell's local edge.
  std::int32_t crossing(int i, int j, int k, int edge) const {
    const int corner = kEdgeCorners[static_cast<std::size_t>(edge)][0];
    return at_[static_cast<std::size_t>(edge / 4)]
              [node(i + (corner & 1), j + (corner >> 1 & 1), k + (corner >> 2 & 1))];
  }

  // Cells (i, j, k) span nodes i..i+1; the tile fits one ring more than it owns, to close its quads.
  std::size_t cell(int i, int j, int k) const {
    const auto wide = static_cast<std::size_t>(r_.x1 - r_.x0 + 1);
    return (static_cast<std::size_t>(j - r_.y0 + 1) * wide + static_cast<std::size_t>(i - r_.x0 + 1)) *
               static_cast<std::size_t>(nk_) +
           static_cast<std::size_t>(k);
  }

  void fit(SkinTile& out) {
    const auto wide = static_cast<std::size_t>(r_.x1 - r_.x0 + 1),
               deep = static_cast<std::size_t>(r_.y1 - r_.y0 + 1);
    first_vertex_.assign(wide * deep * static_cast<std::size_t>(nk_), 0);
    cycles_.assign(first_vertex_.size(), 0);
    for (int j = r_.y0 - 1; j < r_.y1; ++j)
      for (int i = r_.x0 - 1; i < r_.x1; ++i)
        for (int k = 0; k + 1 < nk_; ++k) {
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
              const Crossing& c = crossings_[static_cast<std::size_t>(crossing(i, j, k, e))];
              corner.add(c.place, c.normal);
            }
            out.mesh.points.push_back(corner.solve(bounds));
            const auto key =
                (static_cast<std::uint64_t>(j + 1) * static_cast<std::uint64_t>(columns_x() + 8) +
                 static_cast<std::uint64_t>(i + 1)) *
                    static_cast<std::uint64_t>(nk_) +
                static_cast<std::uint64_t>(k);
            const bool shared = i <= r_.x0 || i >= r_.x1 - 1 || j <= r_.y0 || j >= r_.y1 - 1;
            out.keys.push_back(shared ? key * 4 + static_cast<std::uint64_t>(piece) : kAlone);
          }
        }
  }

  /// All four nodes of the cell in one floor: its skin is the floor's.
  bool within_floor(int i, int j) const {
    return floor_[column_index(i, j)] && floor_[column_index(i + 1, j)] && floor_[column_index(i, j + 1)] &&
           floor_[column_index(i + 1, j + 1)] &&
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
    for (const Floor& floor : floors_)
      for (int k = 0; k + 1 < nk_; ++k)
        if (solid(floor.i, floor.j, k) != solid(floor.i, floor.j, k + 1))
          fill_floor(out, floor, k);
    for (int j = r_.y0; j < r_.y1; ++j)
      for (int i = r_.x0; i < r_.x1; ++i)
        for (int k = 0; k < nk_ && floor_[column_index(i, j)] != kInner; ++k) {
          // Edge along each axis from node (i, j, k); the four cells around it, anticlockwise about the axis.
          const std::size_t n = node(i, j, k);
          if (at_[0][n] >= 0 && k > 0)
            quad(out, 0, n, solid(i, j, k),
                 {vertex(i, j, k, 0), vertex(i, j - 1, k, 1), vertex(i, j - 1, k - 1, 3),
                  vertex(i, j, k - 1, 2)});
          if (at_[1][n] >= 0 && k > 0)
            quad(out, 1, n, solid(i, j, k),
                 {vertex(i, j, k, 4), vertex(i, j, k - 1, 6), vertex(i - 1, j, k - 1, 7),
                  vertex(i - 1, j, k, 5)});
          if (at_[2][n] >= 0 && !floor_[column_index(i, j)])
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
    const auto at = [&](int a, int b) -> std::uint32_t& {
      return grid[static_cast<std::size_t>((b + 1) * (n + 1) + a + 1)];
    };
    for (int b = -1; b < n; ++b)
      for (int a = -1; a < n; ++a) {
        const bool outer = a < 0 || b < 0 || a == n - 1 || b == n - 1;
        at(a, b) = outer ? of(i + a, j + b)
                         : add({0.5 * (x(i + a) + x(i + a + 1)), 0.5 * (y(j + b) + y(j + b + 1)), h});
      }
    for (int b = 0; b < n; ++b)
      for (int a = 0; a < n; ++a) {
        triangle(at(a, b), at(a - 1, b), at(a - 1, b - 1));
        triangle(at(a, b), at(a - 1, b - 1), at(a, b - 1));
      }
  }
  void quad(SkinTile& out, std::size_t axis, std::size_t n, bool outward,
            std::array<std::uint32_t, 4> v) const {
    if (!outward)
      std::swap(v[1], v[3]);
    const Vec3 normal = crossings_[static_cast<std::size_t>(at_[axis][n])].normal;
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

  const FoamField& f_;
  const TileRange& r_;
  int i0_, j0_, ni_, nj_, nk_;
  std::vector<std::vector<Slab>> slabs_;
  std::vector<char> solid_;
  std::vector<char> floor_; // by column: in no floor, at a floor's rim, inside it
  std::vector<Floor> floors_;
  std::array<std::vector<std::int32_t>, 3> at_;
  std::vector<Crossing> crossings_;
  std::vector<std::uint32_t> first_vertex_, cycles_;
  std::vector<CellCycles> kept_;
};

} // namespace

SkinTile skin_tile(const FoamField& field, const TileRange& range) {
  return TileMesher(field, range).run();
}

} // namespace snagmap
