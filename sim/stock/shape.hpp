// The sheet before the cut as a solid: a closed mesh with pockets already in it.
#pragma once

#include "models/fault.hpp"
#include "sim/record/record.hpp"

#include <vector>

namespace snagmap {

/// A closed mesh in work coordinates (triangles by index, as read from STL, PLY or OBJ). Equal points are
/// made one, triangles without area dropped. Faults: no triangles, a number that is none, an edge without a
/// partner (says how many and where), a mesh without volume. Which way the triangles turn does not matter.
Outcome<StockShape> stock_from_mesh(std::vector<Vec3> points,
                                    std::vector<std::array<std::uint32_t, 3>> triangles);

/// Volume inside, mm3.
double volume_mm3(const StockShape& stock);

} // namespace snagmap
