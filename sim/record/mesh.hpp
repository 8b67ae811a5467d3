// A sheet that came as a closed mesh: where vertical lines and horizontal rays cross its sides.
#pragma once

#include "sim/record/data.hpp"

namespace snagmap {

/// Sorts the triangles into the blocks of the grid.
void bin_triangles(const ColumnGrid& grid, StockMesh& mesh);

/// Heights where the columns of a tile cross the mesh, by cell, from the bottom up; they come in pairs.
std::vector<std::vector<float>> column_crossings(const StockMesh& mesh, const ColumnGrid& grid, int i0,
                                                 int j0, int columns, int rows);

/// Adds the air outside the mesh along the piece from..to of the ray o + u d at height z.
void mesh_air(const StockMesh& mesh, const ColumnGrid& grid, double z, Vec2 o, Vec2 d, double from, double to,
              std::vector<Chord>& out);

/// Heights where the vertical line at p crosses the mesh, appended from the bottom up; they come in pairs.
void mesh_crossings(const StockMesh& mesh, const ColumnGrid& grid, Vec2 p, std::vector<float>& out);

/// Appends the edges of the sides within the blocks of a box, in plan; shared ones once for each side.
void mesh_edges(const StockMesh& mesh, const ColumnGrid& grid, Vec2 low, Vec2 high,
                std::vector<std::array<Vec2, 2>>& out);

/// True inside the mesh: counts the sides above p.
bool inside_mesh(const StockMesh& mesh, const ColumnGrid& grid, Vec3 p);

/// Signed distance to the sides within the blocks x0..x1, y0..y1, negative inside; at most `far_mm` either
/// way.
double mesh_distance(const StockMesh& mesh, const ColumnGrid& grid, Vec3 p, int x0, int x1, int y0, int y1,
                     double far_mm);

} // namespace snagmap
