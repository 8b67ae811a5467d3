#include "viz/draw/stage.hpp"

#include "viz/draw/vtk_mesh.hpp"
#include "viz/draw/vtk_modules.hpp"

#include <vtkActor.h>
#include <vtkCamera.h>
#include <vtkCellArray.h>
#include <vtkNew.h>
#include <vtkPoints.h>
#include <vtkPolyData.h>
#include <vtkPolyDataMapper.h>
#include <vtkProperty.h>
#include <vtkRenderer.h>

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
  view.centre =
      0.5 * (least.x + most.x) * view.right + 0.5 * (least.y + most.y) * view.up + depth * view.back;
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
  light(scene);
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

void Stage::add(const Mesh& mesh, const std::vector<Colour>& colours, double shine) {
  if (mesh.triangles.empty())
    return;
  set_matte(place(mesh, colours)->GetProperty(), shine);
}

void Stage::add_unlit(const Mesh& mesh, const std::vector<Colour>& colours) {
  if (!mesh.triangles.empty())
    place(mesh, colours)->GetProperty()->LightingOff();
}

vtkActor* Stage::place(const Mesh& mesh, const std::vector<Colour>& colours) {
  vtkNew<vtkPolyDataMapper> mapper;
  mapper->SetInputData(poly_data(mesh, colours));
  vtkNew<vtkActor> actor;
  actor->SetMapper(mapper);
  parts_->renderer->AddActor(actor);
  return actor;
}

void Stage::add_line(const std::vector<Vec3>& points, Colour colour, double width_px) {
  if (points.size() < 2)
    return;
  vtkNew<vtkPoints> places;
  vtkNew<vtkCellArray> lines;
  lines->InsertNextCell(static_cast<int>(points.size()));
  for (const Vec3& p : points)
    lines->InsertCellPoint(places->InsertNextPoint(p.x, p.y, p.z));
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
  actor->GetProperty()->SetLineWidth(static_cast<float>(2 * width_px)); // the raster draws at twice the size
  actor->GetProperty()->LightingOff();
  parts_->renderer->AddActor(actor);
}

vtkRenderer* Stage::renderer() const {
  return parts_->renderer;
}

} // namespace snagmap
