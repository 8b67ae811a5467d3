// The sheet before the cut as a solid: a closed mesh with pockets already in it.
#pragma once

#include "models/base/fault.hpp"
#include "models/base/vec.hpp"

#include <array>
#include <cstdint>
#include <functional>
#include <string>
#include <vector>

namespace snagmap {

/// The sheet before the cut, in work coordinates: a box, or a closed mesh that may have pockets already in it
/// (stock_from_mesh gives checked ones).
struct StockShape {
  Box3 box; ///< of a mesh: around it
  std::vector<Vec3> points = {};
  std::vector<std::array<std::uint32_t, 3>> triangles = {}; ///< empty for a plain box
};

/// A mesh as its file has it: nothing checked, no unit.
struct MeshFile {
  std::vector<Vec3> points;
  std::vector<std::array<std::uint32_t, 3>> triangles;
};
/// Who reads a sheet's file: the libraries that can lie above the scene, so both are handed in
/// (viz/files/mesh_file.hpp).
struct StockReaders {
  std::function<Outcome<MeshFile>(const std::string& file)> mesh;     ///< STL, PLY, OBJ, VTP
  std::function<Outcome<StockShape>(const std::string& file)> volume; ///< a .vdb that snagmap wrote
};

/// A closed mesh in work coordinates (triangles by index, as read from STL, PLY or OBJ). Equal points are
/// made one, triangles without area dropped. Faults: no triangles, a number that is none, an edge without a
/// partner (says how many and where), a mesh without volume. Which way the triangles turn does not matter.
Outcome<StockShape> stock_from_mesh(std::vector<Vec3> points,
                                    std::vector<std::array<std::uint32_t, 3>> triangles);

/// Volume inside, mm3.
double volume_mm3(const StockShape& stock);

} // namespace snagmap
