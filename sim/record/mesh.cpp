#include "sim/record/mesh.hpp"

namespace snagmap {
namespace {

/// Which side of the edge p-q the point lies on; the same bits for both triangles of the edge.
double side_of(Vec2 p, Vec2 q, Vec2 at) {
  return cross(q - p, at - p);
}
int above(Vec2 p, Vec2 q, Vec2 at) {
  // Points count as shifted by an infinitely small amount in x, then y: no line hits an edge or a corner.
  const bool swap = q.y < p.y || (q.y == p.y && q.x < p.x);
  if (swap)
    std::swap(p, q);
  const double v = side_of(p, q, at);
  int sign = v > 0 ? 1 : v < 0 ? -1 : 0;
  if (sign == 0)
    sign = q.y > p.y ? -1 : 1;
  return swap ? -sign : sign;
}

/// Height where the vertical line at p meets the triangle; false when it passes by.
bool height_at(const StockMesh& mesh, std::size_t triangle, Vec2 p, double& z) {
  const auto& t = mesh.triangles[triangle];
  const Vec3 a = mesh.points[t[0]], b = mesh.points[t[1]], c = mesh.points[t[2]];
  const int ab = above(xy(a), xy(b), p), bc = above(xy(b), xy(c), p), ca = above(xy(c), xy(a), p);
  if (ab != bc || bc != ca)
    return false;
  const double wa = side_of(xy(b), xy(c), p), wb = side_of(xy(c), xy(a), p), wc = side_of(xy(a), xy(b), p);
  const double sum = wa + wb + wc;
  if (sum == 0)
    return false;
  z = (wa * a.z + wb * b.z + wc * c.z) / sum;
  return true;
}

/// True when the plane at z cuts the triangle; a side in the plane does not count.
bool height_spans(const StockMesh& mesh, std::size_t triangle, double z) {
  const auto& t = mesh.triangles[triangle];
  const bool a = mesh.points[t[0]].z <= z, b = mesh.points[t[1]].z <= z, c = mesh.points[t[2]].z <= z;
  return a != b || b != c;
}

/// Where the plane at z cuts the edge, counted from its lower point.
Vec2 on_edge(Vec3 p, Vec3 q, double z) {
  if (q.z < p.z || (q.z == p.z && (q.x < p.x || (q.x == p.x && q.y < p.y))))
    std::swap(p, q);
  return xy(p) + (z - p.z) / (q.z - p.z) * (xy(q) - xy(p));
}

struct BlockBox {
  int x0, x1, y0, y1;
};
BlockBox blocks_over(const ColumnGrid& grid, Vec2 low, Vec2 high) {
  const auto block = [&](double v, double step, int count) {
    return std::clamp(static_cast<int>(std::clamp(std::floor(v / step), -1.0, 1e8)), 0, count - 1) >>
           grid.block_shift;
  };
  return {block(low.x - grid.box.low.x, grid.dx, grid.nx), block(high.x - grid.box.low.x, grid.dx, grid.nx),
          block(low.y - grid.box.low.y, grid.dy, grid.ny), block(high.y - grid.box.low.y, grid.dy, grid.ny)};
}
int blocks_in_a_row(const ColumnGrid& grid) {
  return ((grid.nx - 1) >> grid.block_shift) + 1;
}

Vec3 cross3(Vec3 a, Vec3 b) {
  return {a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}

double triangle_distance(Vec3 a, Vec3 b, Vec3 c, Vec3 p) {
  const std::array<Vec3, 3> v{a, b, c};
  const Vec3 normal = cross3(b - a, c - a);
  const double n2 = dot(normal, normal);
  bool within = n2 > 0;
  double least = 1e300;
  for (std::size_t k = 0; k < 3; ++k) {
    const Vec3 e = v[(k + 1) % 3] - v[k], ap = p - v[k];
    within &= dot(cross3(e, ap), normal) >= 0;
    const double l2 = dot(e, e), s = l2 > 0 ? std::clamp(dot(e, ap) / l2, 0.0, 1.0) : 0;
    least = std::min(least, norm(ap - s * e));
  }
  return within ? std::abs(dot(p - a, normal)) / std::sqrt(n2) : least;
}

} // namespace

bool inside_mesh(const StockMesh& mesh, const ColumnGrid& grid, Vec3 p) {
  const BlockBox at = blocks_over(grid, xy(p), xy(p));
  const std::size_t block =
      static_cast<std::size_t>(at.y0) * static_cast<std::size_t>(blocks_in_a_row(grid)) +
      static_cast<std::size_t>(at.x0);
  bool inside = false;
  for (std::uint32_t n = mesh.block_offset[block]; n < mesh.block_offset[block + 1]; ++n) {
    const auto& t = mesh.triangles[mesh.block_triangles[n]];
    if (mesh.points[t[0]].z <= p.z && mesh.points[t[1]].z <= p.z && mesh.points[t[2]].z <= p.z)
      continue;
    double height;
    if (height_at(mesh, mesh.block_triangles[n], xy(p), height) && height > p.z)
      inside = !inside;
  }
  return inside;
}

void mesh_crossings(const StockMesh& mesh, const ColumnGrid& grid, Vec2 p, std::vector<float>& out) {
  const BlockBox at = blocks_over(grid, p, p);
  const std::size_t block =
      static_cast<std::size_t>(at.y0) * static_cast<std::size_t>(blocks_in_a_row(grid)) +
      static_cast<std::size_t>(at.x0);
  for (std::uint32_t n = mesh.block_offset[block]; n < mesh.block_offset[block + 1]; ++n) {
    double height;
    if (height_at(mesh, mesh.block_triangles[n], p, height))
      out.push_back(static_cast<float>(height));
  }
  std::sort(out.begin(), out.end());
}

void mesh_edges(const StockMesh& mesh, const ColumnGrid& grid, Vec2 low, Vec2 high,
                std::vector<std::array<Vec2, 2>>& out) {
  const BlockBox box = blocks_over(grid, low, high);
  std::vector<std::uint32_t> near;
  for (int y = box.y0; y <= box.y1; ++y)
    for (int x = box.x0; x <= box.x1; ++x) {
      const std::size_t block =
          static_cast<std::size_t>(y) * static_cast<std::size_t>(blocks_in_a_row(grid)) +
          static_cast<std::size_t>(x);
      near.insert(near.end(), mesh.block_triangles.begin() + mesh.block_offset[block],
                  mesh.block_triangles.begin() + mesh.block_offset[block + 1]);
    }
  std::sort(near.begin(), near.end());
  near.erase(std::unique(near.begin(), near.end()), near.end());
  for (const std::uint32_t n : near)
    for (std::size_t k = 0; k < 3; ++k)
      out.push_back({xy(mesh.points[mesh.triangles[n][k]]), xy(mesh.points[mesh.triangles[n][(k + 1) % 3]])});
}

void bin_triangles(const ColumnGrid& grid, StockMesh& mesh) {
  const std::size_t row = static_cast<std::size_t>(blocks_in_a_row(grid));
  const std::size_t blocks = row * static_cast<std::size_t>(((grid.ny - 1) >> grid.block_shift) + 1);
  const auto for_blocks = [&](std::size_t n, const auto& visit) {
    const auto& t = mesh.triangles[n];
    const Vec3 a = mesh.points[t[0]], b = mesh.points[t[1]], c = mesh.points[t[2]];
    constexpr double kMargin_mm = 1e-6;
    const BlockBox box =
        blocks_over(grid, {std::min({a.x, b.x, c.x}) - kMargin_mm, std::min({a.y, b.y, c.y}) - kMargin_mm},
                    {std::max({a.x, b.x, c.x}) + kMargin_mm, std::max({a.y, b.y, c.y}) + kMargin_mm});
    for (int y = box.y0; y <= box.y1; ++y)
      for (int x = box.x0; x <= box.x1; ++x)
        visit(static_cast<std::size_t>(y) * row + static_cast<std::size_t>(x));
  };
  mesh.block_offset.assign(blocks + 1, 0);
  for (std::size_t n = 0; n < mesh.triangles.size(); ++n)
    for_blocks(n, [&](std::size_t block) { ++mesh.block_offset[block + 1]; });
  for (std::size_t b = 0; b < blocks; ++b)
    mesh.block_offset[b + 1] += mesh.block_offset[b];
  mesh.block_triangles.resize(mesh.block_offset.back());
  std::vector<std::uint32_t> at(mesh.block_offset.begin(), mesh.block_offset.end() - 1);
  for (std::size_t n = 0; n < mesh.triangles.size(); ++n)
    for_blocks(n,
               [&](std::size_t block) { mesh.block_triangles[at[block]++] = static_cast<std::uint32_t>(n); });
}

std::vector<std::vector<float>> column_crossings(const StockMesh& mesh, const ColumnGrid& grid, int i0,
                                                 int j0, int columns, int rows) {
  std::vector<std::vector<float>> out(static_cast<std::size_t>(kTileColumns));
  for (int row = 0; row < rows; ++row) {
    for (int i = 0; i < columns; ++i) {
      std::vector<float>& heights = out[static_cast<std::size_t>(row * kTileSide + i)];
      const std::size_t block = static_cast<std::size_t>((j0 + row) >> grid.block_shift) *
                                    static_cast<std::size_t>(blocks_in_a_row(grid)) +
                                static_cast<std::size_t>((i0 + i) >> grid.block_shift);
      const Vec2 p{grid.x_of(i0 + i), grid.y_of(j0 + row)};
      for (std::uint32_t n = mesh.block_offset[block]; n < mesh.block_offset[block + 1]; ++n) {
        double z;
        if (height_at(mesh, mesh.block_triangles[n], p, z))
          heights.push_back(static_cast<float>(z));
      }
      std::sort(heights.begin(), heights.end());
    }
  }
  return out;
}

void mesh_air(const StockMesh& mesh, const ColumnGrid& grid, double z, Vec2 o, Vec2 d, double from, double to,
              std::vector<Chord>& out) {
  const Vec2 p = o + from * d, q = o + to * d;
  const BlockBox box =
      blocks_over(grid, {std::min(p.x, q.x), std::min(p.y, q.y)}, {std::max(p.x, q.x), std::max(p.y, q.y)});
  static thread_local std::vector<std::uint32_t> near;
  static thread_local std::vector<double> walls;
  near.clear();
  walls.clear();
  const std::size_t row = static_cast<std::size_t>(blocks_in_a_row(grid));
  const auto triangles_of = [&](int x, int y, const auto& visit) {
    const std::size_t block = static_cast<std::size_t>(y) * row + static_cast<std::size_t>(x);
    for (std::uint32_t n = mesh.block_offset[block]; n < mesh.block_offset[block + 1]; ++n)
      visit(mesh.block_triangles[n]);
  };
  for (int y = box.y0; y <= box.y1; ++y)
    for (int x = box.x0; x <= box.x1; ++x)
      triangles_of(x, y, [&](std::uint32_t n) {
        if (height_spans(mesh, n, z))
          near.push_back(n);
      });
  std::sort(near.begin(), near.end());
  near.erase(std::unique(near.begin(), near.end()), near.end());
  for (const std::uint32_t n : near) {
    const auto& t = mesh.triangles[n];
    const std::array<Vec3, 3> v{mesh.points[t[0]], mesh.points[t[1]], mesh.points[t[2]]};
    std::array<Vec2, 2> cut;
    int count = 0;
    for (std::size_t k = 0; k < 3; ++k) {
      const Vec3 a = v[k], b = v[(k + 1) % 3];
      if ((a.z <= z) != (b.z <= z) && count < 2)
        cut[static_cast<std::size_t>(count++)] = on_edge(a, b, z);
    }
    if (count < 2)
      continue;
    const double ha = cross(d, cut[0] - o), hb = cross(d, cut[1] - o);
    if ((ha >= 0) == (hb >= 0))
      continue;
    const Vec2 at = cut[0] + ha / (ha - hb) * (cut[1] - cut[0]);
    const double u = dot(at - o, d);
    if (u >= from && u <= to)
      walls.push_back(u);
  }
  // The ray is asked whether it is inside in the middle of its longest piece: its ends may lie on a side.
  walls.push_back(from);
  walls.push_back(to);
  std::sort(walls.begin(), walls.end());
  std::size_t longest = 0;
  for (std::size_t n = 0; n + 1 < walls.size(); ++n)
    if (walls[n + 1] - walls[n] > walls[longest + 1] - walls[longest])
      longest = n;
  const Vec2 mid = o + 0.5 * (walls[longest] + walls[longest + 1]) * d;
  bool air = inside_mesh(mesh, grid, {mid.x, mid.y, z}) == (longest % 2 == 1);
  for (std::size_t n = 0; n + 1 < walls.size(); ++n, air = !air)
    if (air && walls[n + 1] > walls[n])
      out.push_back({walls[n], walls[n + 1]});
}

double mesh_distance(const StockMesh& mesh, const ColumnGrid& grid, Vec3 p, int x0, int x1, int y0, int y1,
                     double far_mm) {
  const std::size_t row = static_cast<std::size_t>(blocks_in_a_row(grid));
  double least = far_mm;
  for (int y = y0; y <= y1; ++y) {
    for (int x = x0; x <= x1; ++x) {
      const std::size_t block = static_cast<std::size_t>(y) * row + static_cast<std::size_t>(x);
      for (std::uint32_t n = mesh.block_offset[block]; n < mesh.block_offset[block + 1]; ++n) {
        const auto& t = mesh.triangles[mesh.block_triangles[n]];
        least =
            std::min(least, triangle_distance(mesh.points[t[0]], mesh.points[t[1]], mesh.points[t[2]], p));
      }
    }
  }
  return inside_mesh(mesh, grid, p) ? -least : least;
}

} // namespace snagmap
