#include "sim/stock/shape.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

namespace snagmap {
namespace {

Fault fault(std::string what, std::string way_out) {
  return Fault(std::move(what), std::move(way_out));
}

/// Makes points with the same coordinates one: files of loose triangles repeat every corner.
void weld(std::vector<Vec3>& points, std::vector<std::array<std::uint32_t, 3>>& triangles) {
  std::vector<std::uint32_t> order(points.size()), name(points.size());
  std::iota(order.begin(), order.end(), 0u);
  const auto less = [&](std::uint32_t a, std::uint32_t b) {
    const Vec3 &p = points[a], &q = points[b];
    return p.x != q.x ? p.x < q.x : p.y != q.y ? p.y < q.y : p.z < q.z;
  };
  std::sort(order.begin(), order.end(), less);
  std::vector<Vec3> kept;
  for (std::size_t n = 0; n < order.size(); ++n) {
    if (n == 0 || less(order[n - 1], order[n]))
      kept.push_back(points[order[n]]);
    name[order[n]] = static_cast<std::uint32_t>(kept.size() - 1);
  }
  points = std::move(kept);
  for (auto& t : triangles)
    for (std::uint32_t& corner : t)
      corner = name[corner];
  triangles.erase(std::remove_if(triangles.begin(), triangles.end(),
                                 [](const auto& t) { return t[0] == t[1] || t[1] == t[2] || t[2] == t[0]; }),
                  triangles.end());
}

} // namespace

Outcome<StockShape> stock_from_mesh(std::vector<Vec3> points,
                                    std::vector<std::array<std::uint32_t, 3>> triangles) {
  for (const Vec3& p : points)
    if (!std::isfinite(norm(p)))
      return fault("the sheet's mesh has a point that is no number", "repair the mesh");
  for (const auto& t : triangles)
    for (const std::uint32_t corner : t)
      if (corner >= points.size())
        return fault("the sheet's mesh has a triangle without its points", "repair the mesh");
  weld(points, triangles);
  if (triangles.empty())
    return fault("the sheet's mesh has no triangles", "export it as a closed mesh");
  // Closed: every edge has an even number of triangles, so that every line crosses the sides in pairs.
  std::vector<std::pair<std::uint32_t, std::uint32_t>> edges;
  edges.reserve(3 * triangles.size());
  for (const auto& t : triangles)
    for (std::size_t k = 0; k < 3; ++k)
      edges.push_back(std::minmax(t[k], t[(k + 1) % 3]));
  std::sort(edges.begin(), edges.end());
  std::size_t open = 0;
  Vec3 place;
  for (std::size_t first = 0, end; first < edges.size(); first = end) {
    for (end = first + 1; end < edges.size() && edges[end] == edges[first];)
      ++end;
    if ((end - first) % 2 == 1 && open++ == 0)
      place = 0.5 * (points[edges[first].first] + points[edges[first].second]);
  }
  if (open > 0)
    return fault(
        fmt::format("the sheet's mesh is not closed: {} open edges, one at {:.3f}, {:.3f}, {:.3f} mm", open,
                    place.x, place.y, place.z),
        "close the mesh, or give the sheet as a box");
  StockShape stock;
  stock.box = {points[triangles[0][0]], points[triangles[0][0]]};
  for (const auto& t : triangles) {
    for (const std::uint32_t corner : t) {
      const Vec3& p = points[corner];
      stock.box.low = {std::min(stock.box.low.x, p.x), std::min(stock.box.low.y, p.y),
                       std::min(stock.box.low.z, p.z)};
      stock.box.high = {std::max(stock.box.high.x, p.x), std::max(stock.box.high.y, p.y),
                        std::max(stock.box.high.z, p.z)};
    }
  }
  stock.points = std::move(points);
  stock.triangles = std::move(triangles);
  if (!(std::abs(volume_mm3(stock)) > 0))
    return fault("the sheet's mesh has no volume", "export a solid");
  return stock;
}

double volume_mm3(const StockShape& stock) {
  const Vec3 size = stock.box.high - stock.box.low;
  if (stock.triangles.empty())
    return size.x * size.y * size.z;
  double six = 0; // from the box's corner, so that far-off meshes lose no digits
  for (const auto& t : stock.triangles) {
    const Vec3 a = stock.points[t[0]] - stock.box.low, b = stock.points[t[1]] - stock.box.low,
               c = stock.points[t[2]] - stock.box.low;
    six += a.x * (b.y * c.z - b.z * c.y) + a.y * (b.z * c.x - b.x * c.z) + a.z * (b.x * c.y - b.y * c.x);
  }
  return std::abs(six) / 6;
}

} // namespace snagmap
