// Meshes from files, for sheets that come as a solid.
#pragma once

#include "sim/stock/shape.hpp"

#include <string>

namespace snagmap {

/// Reads STL (text or binary), PLY, OBJ or VTK XML (.vtp, as stock.vtp of a result) by the ending of its
/// name, polygons cut into triangles. Single precision, as VTK keeps points: at 1 m from the file's zero a
/// place is right to 0.06 um. Faults: the file cannot be read, holds no faces, is larger than 1 GB.
Outcome<MeshFile> read_mesh_file(const std::string& file);

/// The readers a scene takes its sheet's file by.
StockReaders stock_readers();

} // namespace snagmap
