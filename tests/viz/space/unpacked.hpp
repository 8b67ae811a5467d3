// The way back from packed bytes, written from their description in viz/space/packed.hpp: the tests' own
// reader.
#pragma once

#include "viz/space/packed.hpp"

#include <gtest/gtest.h>
#include <zlib.h>

namespace snagmap {

struct Unpacked {
  std::vector<Vec3> points;
  std::vector<Triangle> triangles;
  std::vector<Colour> colours;
  std::vector<int> marks;
  std::vector<double> lean_mm;
};

inline Unpacked unpacked(const PackedMesh& mesh) {
  const std::size_t n = mesh.points, m = 3u * mesh.triangles;
  std::vector<std::uint8_t> bytes(12 * n + 3 * m);
  uLongf size = bytes.size();
  EXPECT_EQ(uncompress(bytes.data(), &size, mesh.bytes.data(), mesh.bytes.size()), Z_OK);
  EXPECT_EQ(size, bytes.size());
  std::vector<std::vector<unsigned>> numbers;
  for (std::size_t list = 0; list < 6; ++list) {
    std::vector<unsigned> values;
    unsigned last = 0;
    for (std::size_t i = 0; i < n; ++i) {
      const std::size_t at = 2 * n * list + i;
      values.push_back(last = (last + bytes[at] + 256u * bytes[at + n]) % 65536u);
    }
    numbers.push_back(std::move(values));
  }
  Unpacked out;
  for (std::size_t i = 0; i < n; ++i) {
    out.points.push_back(mesh.low_mm + mesh.step_mm * Vec3{static_cast<double>(numbers[0][i]),
                                                           static_cast<double>(numbers[1][i]),
                                                           static_cast<double>(numbers[2][i])});
    out.colours.push_back(mesh.palette.at(numbers[3][i]));
    out.marks.push_back(static_cast<int>(numbers[4][i]));
    out.lean_mm.push_back(mesh.lean_mm * numbers[5][i] / 65535);
  }
  std::int64_t last = 0;
  for (std::size_t i = 0; i < m; ++i) {
    const std::size_t at = 12 * n + i;
    const std::int64_t folded = bytes[at] + 256 * bytes[at + m] + 65536 * bytes[at + 2 * m];
    last += folded % 2 ? -(folded + 1) / 2 : folded / 2;
    if (i % 3 == 0)
      out.triangles.emplace_back();
    out.triangles.back()[i % 3] = static_cast<std::uint32_t>(last);
  }
  return out;
}

} // namespace snagmap
