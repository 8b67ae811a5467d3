#include "viz/draw/vtk_mesh.hpp"

#include <vtkCellArray.h>
#include <vtkCellData.h>
#include <vtkFloatArray.h>
#include <vtkIdTypeArray.h>
#include <vtkLight.h>
#include <vtkNew.h>
#include <vtkPoints.h>
#include <vtkProperty.h>
#include <vtkRenderer.h>
#include <vtkUnsignedCharArray.h>

namespace snagmap {

vtkSmartPointer<vtkPolyData> poly_data(const Mesh& mesh, const std::vector<Colour>& colours) {
  vtkNew<vtkFloatArray> coordinates;
  coordinates->SetNumberOfComponents(3);
  coordinates->SetNumberOfTuples(static_cast<vtkIdType>(mesh.points.size()));
  float* out = coordinates->GetPointer(0);
  for (const Vec3& p : mesh.points) {
    *out++ = static_cast<float>(p.x);
    *out++ = static_cast<float>(p.y);
    *out++ = static_cast<float>(p.z);
  }
  vtkNew<vtkPoints> points;
  points->SetData(coordinates);
  vtkNew<vtkIdTypeArray> ids;
  ids->SetNumberOfValues(static_cast<vtkIdType>(3 * mesh.triangles.size()));
  vtkIdType* id = ids->GetPointer(0);
  for (const Triangle& t : mesh.triangles)
    for (const std::uint32_t corner : t)
      *id++ = corner;
  vtkNew<vtkCellArray> cells;
  cells->SetData(3, ids);
  auto data = vtkSmartPointer<vtkPolyData>::New();
  data->SetPoints(points);
  data->SetPolys(cells);
  if (colours.size() != mesh.triangles.size())
    return data;
  vtkNew<vtkUnsignedCharArray> paint;
  paint->SetNumberOfComponents(3);
  paint->SetNumberOfTuples(static_cast<vtkIdType>(colours.size()));
  unsigned char* byte = paint->GetPointer(0);
  for (const Colour& c : colours) {
    *byte++ = c.r;
    *byte++ = c.g;
    *byte++ = c.b;
  }
  data->GetCellData()->SetScalars(paint);
  return data;
}

void light(vtkRenderer* renderer) {
  renderer->AutomaticLightCreationOff();
  // Key from upper left, fill from the right, a weak one from below.
  const double lights[3][4] = {{-0.6, 0.9, 1.0, 0.62}, {1.0, 0.2, 0.7, 0.30}, {0.0, -1.0, 0.4, 0.16}};
  for (const auto& entry : lights) {
    vtkNew<vtkLight> lamp;
    lamp->SetLightTypeToCameraLight();
    lamp->SetPosition(entry[0], entry[1], entry[2]);
    lamp->SetFocalPoint(0, 0, 0);
    lamp->SetIntensity(entry[3]);
    renderer->AddLight(lamp);
  }
}

void set_matte(vtkProperty* property, double shine) {
  property->SetInterpolationToFlat();
  property->SetAmbient(0.52);
  property->SetDiffuse(0.58);
  property->SetSpecular(shine);
  property->SetSpecularPower(25);
}

} // namespace snagmap
