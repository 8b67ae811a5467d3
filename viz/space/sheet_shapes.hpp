// The finished sheet as shapes in space, millimetres: its skin, and what is painted on it.
#pragma once

#include "viz/draw/cutter_mesh.hpp"
#include "viz/skin/zones.hpp"

namespace snagmap {

/// The finished sheet's skin on a grid of about `cells` squares in plan, never finer than the record's
/// voxels; level floors in large triangles where no zone lies.
Mesh sheet_skin(const Preview& preview, const Zones& zones, double cells);

/// Painted by snag number; foam that belongs to no zone grey.
PaintedMesh painted_by_snag(const Preview& preview, ZonedMesh zoned);

} // namespace snagmap
