#include "viz/space/packed.hpp"

#include "viz/draw/deflate.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <unordered_map>

namespace snagmap {
namespace {

constexpr double kPlaces = 65535; // of the grid, after the first

using Place = std::array<std::uint16_t, 3>;

/// A point as the page tells it from others: where it is, its colour, mark and lean.
using Corner = std::array<std::uint16_t, 6>;
struct Mixed {
  std::size_t operator()(const Corner& corner) const {
    std::uint64_t mixed = 0;
    for (const std::uint16_t part : corner)
      mixed = (mixed ^ part) * 0x9E3779B97F4A7C15u; // any odd number near 2^64 over the golden ratio
    return static_cast<std::size_t>(mixed ^ mixed >> 32);
  }
};

/// Points as the page has them, and triangles of these.
struct Corners {
  std::vector<Place> places;
  std::vector<std::uint16_t> colours, marks, lean;
  std::vector<std::uint32_t> indices; ///< three a triangle
};

/// The smallest grid that holds every point.
void lay_grid(PackedMesh& out, const Mesh& mesh, double finest_mm) {
  Vec3 low{1e300, 1e300, 1e300}, high{-1e300, -1e300, -1e300};
  for (const Vec3& p : mesh.points) {
    low = {std::min(low.x, p.x), std::min(low.y, p.y), std::min(low.z, p.z)};
    high = {std::max(high.x, p.x), std::max(high.y, p.y), std::max(high.z, p.z)};
  }
  if (mesh.points.empty())
    low = high = {};
  const Vec3 size = high - low;
  out.low_mm = low;
  out.step_mm = std::max(finest_mm, std::max({size.x, size.y, size.z}) / kPlaces);
}

std::uint16_t number_of(Colour colour, std::vector<Colour>& palette) {
  auto at = std::find(palette.begin(), palette.end(), colour);
  if (at == palette.end())
    at = palette.insert(palette.end(), colour);
  return static_cast<std::uint16_t>(at - palette.begin());
}

Corners corners_of(const PaintedMesh& painted, const PackedWith& with, PackedMesh& out) {
  const Mesh& mesh = painted.mesh;
  std::vector<Place> places;
  places.reserve(mesh.points.size());
  const auto on_grid = [&](double mm) { return static_cast<std::uint16_t>(std::lround(mm / out.step_mm)); };
  for (const Vec3& p : mesh.points) {
    const Vec3 d = p - out.low_mm;
    places.push_back({on_grid(d.x), on_grid(d.y), on_grid(d.z)});
  }
  Corners corners;
  std::unordered_map<Corner, std::uint32_t, Mixed> known;
  known.reserve(2 * mesh.points.size());
  for (std::size_t i = 0; i < mesh.triangles.size(); ++i) {
    const Triangle& t = mesh.triangles[i];
    if (places[t[0]] == places[t[1]] || places[t[1]] == places[t[2]] || places[t[2]] == places[t[0]])
      continue;
    const std::uint16_t colour = number_of(painted.colours[i], out.palette),
                        mark = with.marks.empty() ? 0 : static_cast<std::uint16_t>(with.marks[i]);
    for (const std::uint32_t corner : t) {
      const auto lean = static_cast<std::uint16_t>(
          out.lean_mm > 0 ? std::lround(kPlaces * with.lean_mm[corner] / out.lean_mm) : 0);
      const Place& place = places[corner];
      const auto [at, fresh] = known.try_emplace({place[0], place[1], place[2], colour, mark, lean},
                                                 static_cast<std::uint32_t>(corners.places.size()));
      corners.indices.push_back(at->second);
      if (!fresh)
        continue;
      corners.places.push_back(place);
      corners.colours.push_back(colour);
      corners.marks.push_back(mark);
      corners.lean.push_back(lean);
    }
  }
  return corners;
}

/// The planes of numbers, `count` bytes each; `number(i)` gives the i-th.
template <class Number>
void put_planes(std::vector<std::uint8_t>& out, std::size_t numbers, int count, const Number& number) {
  for (int plane = 0; plane < count; ++plane)
    for (std::size_t i = 0; i < numbers; ++i)
      out.push_back(static_cast<std::uint8_t>(number(i) >> (8 * plane)));
}

template <class Value>
void put_differences(std::vector<std::uint8_t>& out, std::size_t numbers, const Value& value) {
  put_planes(out, numbers, 2, [&](std::size_t i) -> std::uint32_t {
    return static_cast<std::uint16_t>(value(i) - (i > 0 ? value(i - 1) : 0));
  });
}

/// 0, -1, 1, -2 ... as 0, 1, 2, 3 ...
std::uint32_t folded(std::int64_t difference) {
  return static_cast<std::uint32_t>(difference < 0 ? -2 * difference - 1 : 2 * difference);
}

} // namespace

PackedMesh packed(const PaintedMesh& painted, const PackedWith& with) {
  PackedMesh out;
  lay_grid(out, painted.mesh, with.finest_mm);
  for (const double lean : with.lean_mm)
    out.lean_mm = std::max(out.lean_mm, lean);
  const Corners corners = corners_of(painted, with, out);
  const std::size_t points = corners.places.size(), indices = corners.indices.size();
  out.points = static_cast<std::uint32_t>(points);
  out.triangles = static_cast<std::uint32_t>(indices / 3);
  std::vector<std::uint8_t> planes;
  planes.reserve(12 * points + 3 * indices);
  for (std::size_t axis = 0; axis < 3; ++axis)
    put_differences(planes, points, [&](std::size_t i) { return corners.places[i][axis]; });
  for (const auto* list : {&corners.colours, &corners.marks, &corners.lean})
    put_differences(planes, points, [&](std::size_t i) { return (*list)[i]; });
  put_planes(planes, indices, 3, [&](std::size_t i) {
    return folded(std::int64_t{corners.indices[i]} - (i > 0 ? std::int64_t{corners.indices[i - 1]} : 0));
  });
  out.bytes = deflated(planes);
  return out;
}

} // namespace snagmap
