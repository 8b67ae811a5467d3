// A painted mesh as one binary glTF 2.0 file (Khronos Group, glTF 2.0 specification).
#pragma once

#include "viz/draw/colours.hpp"
#include "viz/skin/mesh.hpp"

#include <cstdint>
#include <vector>

namespace snagmap {

/// `colours`: one for each triangle. Millimetres with z up become metres with y up, as the standard asks;
/// normals are the triangles' own, so corners are doubled where triangles differ in colour or direction.
std::vector<std::uint8_t> gltf_binary(const Mesh& mesh, const std::vector<Colour>& colours);

} // namespace snagmap
