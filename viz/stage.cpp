#include "viz/stage.hpp"

#include <vtkActor.h>
#include <vtkCamera.h>
#include <vtkCellArray.h>
#include <vtkCellData.h>
#include <vtkIdTypeArray.h>
#include <vtkFloatArray.h>
#include <vtkLight.h>
#include <vtkNew.h>
#include <vtkPointData.h>
#include <vtkPoints.h>
#include <vtkPolyData.h>
#include <vtkPolyDataMapper.h>
#include <vtkProperty.h>
#include <vtkRenderer.h>
#include <vtkUnsignedCharArray.h>

#include <algorithm>
#include <cmath>

namespace snagmap {

Projection fit(const Eye& eye, const Box3& box, Vec2 low, Vec2 high) {
  const double turn = eye.turn_deg * M_PI / 180, height = eye.height_deg * M_PI / 180;
  Projection view;
  view.back = {std::cos(height) * std::cos(turn), std::cos(height) * std::sin(turn), std::sin(height)};
  view.right = {-std::sin(turn), std::cos(turn), 0};
  view.up = cross(view.back, view.right);
  Vec2 least{1e300, 1e300}, most{-1e300, -1e300};
  for (int corner = 0; corner < 8; ++corner) {
    const Vec3 p{corner & 1 ? box.high.x : box.low.x, corner & 2 ? box.high.y : box.low.y,
                 corner & 4 ? box.high.z : box.low.z};
    const Vec2 q{dot(p, view.right), dot(p, view.up)};
    least = {std::min(least.x, q.x), std::min(least.y, q.y)};
    most = {std::max(most.x, q.x), std::max(most.y, q.y)};
  }
  const double wide = std::max(most.x - least.x, 1e-6), tall = std::max(most.y - least.y, 1e-6);
  view.px_per_mm = std::min((high.x - low.x) / wide, (high.y - low.y) / tall);
  const double depth = dot(0.5 * (box.low + box.high), view.back);
  view.centre = 0.5 * (least.x + most.x) * view.right + 0.5 * (least.y + most.y) * view.up + depth * view.back;
  view.centre_px = 0.5 * (low + high);
  return view;
}

struct Stage::Parts {
  vtkNew<vtkRenderer> renderer;
};

Stage::Stage(int width, int height, Colour background)
    : parts_(std::make_unique<Parts>()), width_(width), height_(height) {
  vtkRenderer* const scene = parts_->renderer;
  scene->SetBackground(background.r / 255.0, background.g / 255.0, background.b / 255.0);
  scene->AutomaticLightCreationOff();
  // Three lights fixed to the camera: key from upper left, fill from the right, a weak one from below, so that
  // no wall is black whichever way it faces.
  const double lights[3][4] = {{-0.6, 0.9, 1.0, 0.62}, {1.0, 0.2, 0.7, 0.30}, {0.0, -1.0, 0.4, 0.16}};
  for (const auto& entry : lights) {
    vtkNew<vtkLight> light;
    light->SetLightTypeToCameraLight();
    light->SetPosition(entry[0], entry[1], entry[2]);
    light->SetFocalPoint(0, 0, 0);
    light->SetIntensity(entry[3]);
    scene->AddLight(light);
  }
}

Stage::~Stage() = default;

void Stage::set(const Projection& projection) {
  projection_ = projection;
  vtkCamera* const camera = parts_->renderer->GetActiveCamera();
  // The camera's middle is the picture's middle: shift from where the projection's centre falls.
  const Projection& v = projection;
  const Vec3 middle = v.centre + ((width_ / 2.0 - v.centre_px.x) / v.px_per_mm) * v.right +
                      ((v.centre_px.y - height_ / 2.0) / v.px_per_mm) * v.up;
  const double far = 4000;
  camera->ParallelProjectionOn();
  camera->SetParallelScale(height_ / 2.0 / v.px_per_mm);
  camera->SetFocalPoint(middle.x, middle.y, middle.z);
  camera->SetPosition(middle.x + far * v.back.x, middle.y + far * v.back.y, middle.z + far * v.back.z);
  camera->SetViewUp(v.up.x, v.up.y, v.up.z);
}

vtkActor* Stage::place(const Mesh& mesh, const std::vector<Colour>& colours) {
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
    for (const std::uint32_t corner : t) *id++ = corner;
  vtkNew<vtkCellArray> cells;
  cells->SetData(3, ids);
  vtkNew<vtkPolyData> data;
  data->SetPoints(points);
  data->SetPolys(cells);
  vtkNew<vtkActor> actor;
  vtkNew<vtkPolyDataMapper> mapper;
  if (colours.size() == mesh.triangles.size()) {
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
  } else {
    mapper->ScalarVisibilityOff();
    const Colour c = colours.empty() ? kFoam : colours.front();
    actor->GetProperty()->SetColor(c.r / 255.0, c.g / 255.0, c.b / 255.0);
  }
  mapper->SetInputData(data);
  actor->SetMapper(mapper);
  actor->GetProperty()->SetInterpolationToFlat();
  parts_->renderer->AddActor(actor);
  return actor;
}

void Stage::add(const Mesh& mesh, const std::vector<Colour>& colours, double shine) {
  if (mesh.triangles.empty()) return;
  vtkProperty* const look = place(mesh, colours)->GetProperty();
  // Much ambient light: a painted wall must look like its colour in the legend whichever way it faces.
  look->SetAmbient(0.52);
  look->SetDiffuse(0.58);
  look->SetSpecular(shine);
  look->SetSpecularPower(25);
}

void Stage::add_unlit(const Mesh& mesh, const std::vector<Colour>& colours) {
  if (!mesh.triangles.empty()) place(mesh, colours)->GetProperty()->LightingOff();
}

void Stage::add_line(const std::vector<Vec3>& points, Colour colour, double width_px) {
  if (points.size() < 2) return;
  vtkNew<vtkPoints> places;
  vtkNew<vtkCellArray> lines;
  lines->InsertNextCell(static_cast<int>(points.size()));
  for (const Vec3& p : points) lines->InsertCellPoint(places->InsertNextPoint(p.x, p.y, p.z));
  vtkNew<vtkPolyData> data;
  data->SetPoints(places);
  data->SetLines(lines);
  vtkNew<vtkPolyDataMapper> mapper;
  mapper->SetInputData(data);
  mapper->SetResolveCoincidentTopologyToPolygonOffset();
  mapper->SetRelativeCoincidentTopologyLineOffsetParameters(-2, -8);
  vtkNew<vtkActor> actor;
  actor->SetMapper(mapper);
  actor->GetProperty()->SetColor(colour.r / 255.0, colour.g / 255.0, colour.b / 255.0);
  actor->GetProperty()->SetLineWidth(static_cast<float>(2 * width_px));  // the raster draws at twice the size
  actor->GetProperty()->LightingOff();
  parts_->renderer->AddActor(actor);
}

vtkRenderer* Stage::renderer() const { return parts_->renderer; }

} // namespace snagmap
