// Meshes and light for VTK. Private to the views: includes VTK.
#pragma once

#include "viz/draw/colours.hpp"
#include "viz/skin/mesh.hpp"

#include <vtkPolyData.h>
#include <vtkSmartPointer.h>

#include <vector>

class vtkProperty;
class vtkRenderer;

namespace snagmap {

/// `colours`: one for each triangle, as cell scalars; otherwise none are set.
vtkSmartPointer<vtkPolyData> poly_data(const Mesh& mesh, const std::vector<Colour>& colours);
/// Three lights fixed to the camera, so that no wall is black whichever way it faces.
void light(vtkRenderer* renderer);
/// Flat shading with much ambient light: a painted wall must look like its colour in the legend.
void set_matte(vtkProperty* property, double shine = 0);

} // namespace snagmap
