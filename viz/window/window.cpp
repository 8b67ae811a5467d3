#include "viz/window/window.hpp"

#include "sim/text/whole_file.hpp"
#include "viz/draw/vtk_mesh.hpp"
#include "viz/draw/vtk_modules.hpp"
#include "viz/window/panel.hpp"
#include "viz/window/parts.hpp"

#include <vtkInteractorStyleTrackballCamera.h>
#include <vtkObjectFactory.h>
#include <vtkPolyDataMapper.h>
#include <vtkProperty.h>
#include <vtkProperty2D.h>

#include <algorithm>
#include <cstdlib>
#include <functional>

namespace snagmap {
namespace {

constexpr double kDragCells = 15000,
                 kFullCells = 50000; // cells in plan: what one frame can mesh while dragging, and at rest

constexpr Eye kFirstEye{-68, 50};

/// The camera's own keys are off: every key belongs to the window. A press that does not travel is a click on
/// a wall; one that does turns the view.
class Style : public vtkInteractorStyleTrackballCamera {
public:
  static Style* New();
  vtkTypeMacro(Style, vtkInteractorStyleTrackballCamera);
  std::function<void(int x, int y)> clicked;
  void OnChar() override {}
  void OnLeftButtonDown() override {
    this->Interactor->GetEventPosition(pressed_at_);
    Superclass::OnLeftButtonDown();
  }
  void OnLeftButtonUp() override {
    Superclass::OnLeftButtonUp();
    int at[2];
    this->Interactor->GetEventPosition(at);
    if (std::abs(at[0] - pressed_at_[0]) + std::abs(at[1] - pressed_at_[1]) < 5 && clicked)
      clicked(at[0], at[1]);
  }

private:
  int pressed_at_[2] = {0, 0};
};
vtkStandardNewMacro(Style)

} // namespace

LookWindow::LookWindow(const Preview& preview, int width, int height, bool off_screen)
    : parts_(std::make_unique<Parts>(preview)) {
  Parts& p = *parts_;
  for (const PathSample& s : preview.samples)
    if (s.web >= 0)
      p.thickest_mm = std::max(p.thickest_mm, static_cast<double>(s.w_mm));
  for (std::size_t i = 0; i < preview.spots.size(); ++i)
    p.by_time.push_back(static_cast<int>(i));
  std::stable_sort(p.by_time.begin(), p.by_time.end(), [&](int a, int b) {
    return preview.spots[static_cast<std::size_t>(a)].time_s <
           preview.spots[static_cast<std::size_t>(b)].time_s;
  });
  p.window->SetOffScreenRendering(off_screen);
  p.window->SetMultiSamples(0);
  p.window->SetSize(width, height);
  p.window->SetWindowName(
      ("snagmap: " + (preview.scene.title.empty() ? std::string("look") : preview.scene.title)).c_str());
  p.window->AddRenderer(p.scene);
  p.scene->SetBackground(0.96, 0.97, 0.98);
  light(p.scene);
  p.interactor->SetRenderWindow(p.window);
  vtkNew<Style> style;
  style->clicked = [&p](int x, int y) { p.pick(x, y); };
  p.interactor->SetInteractorStyle(style);
  p.coarse = std::make_unique<WindowSkin>(preview, p.finder, kDragCells, false, p.scene);
  p.fine = std::make_unique<WindowSkin>(preview, p.finder, kFullCells, true, p.scene);
  for (const CutterCard& cutter : preview.scene.cutters) {
    const PaintedMesh mesh =
        cutter_mesh(cutter, {}, std::min(cutter.stick_out_mm, cutter_height_mm(cutter)), {});
    vtkNew<vtkPolyDataMapper> mapper;
    mapper->SetInputData(poly_data(mesh.mesh, mesh.colours));
    auto actor = vtkSmartPointer<vtkActor>::New();
    actor->SetMapper(mapper);
    set_matte(actor->GetProperty(), 0.25);
    p.scene->AddActor(actor);
    p.cutters.push_back(actor);
  }
  p.panel = std::make_unique<Overlay>(p.scene);
  p.rail->SetMinimumValue(0);
  p.rail->SetMaximumValue(p.total_s());
  for (auto* point : {p.rail->GetPoint1Coordinate(), p.rail->GetPoint2Coordinate()})
    point->SetCoordinateSystemToNormalizedDisplay();
  p.rail->GetPoint1Coordinate()->SetValue(kSliderLow, kSliderHeight);
  p.rail->GetPoint2Coordinate()->SetValue(kSliderHigh, kSliderHeight);
  p.rail->SetSliderLength(2 * (kSliderInset - kSliderCap));
  p.rail->SetSliderWidth(0.03);
  p.rail->SetTubeWidth(0.008);
  p.rail->SetEndCapLength(kSliderCap);
  p.rail->ShowSliderLabelOff();
  for (auto* part : {p.rail->GetTubeProperty(), p.rail->GetCapProperty()})
    part->SetColor(0.47, 0.50, 0.54);
  p.rail->GetSliderProperty()->SetColor(kFlutes.r / 255.0, kFlutes.g / 255.0, kFlutes.b / 255.0);
  p.rail->GetSelectedProperty()->SetColor(0.06, 0.28, 0.38);
  p.slider->KeyPressActivationOff(); // or 'i' would switch it off
  p.slider->SetInteractor(p.interactor);
  p.slider->SetRepresentation(p.rail);
  p.slider->SetAnimationModeToJump();
  p.heard->SetClientData(&p);
  p.heard->SetCallback(Parts::hear);
  for (const auto event :
       {vtkCommand::StartInteractionEvent, vtkCommand::InteractionEvent, vtkCommand::EndInteractionEvent})
    p.slider->AddObserver(event, p.heard);
  for (const auto event : {vtkCommand::KeyPressEvent, vtkCommand::TimerEvent, vtkCommand::ConfigureEvent})
    p.interactor->AddObserver(event, p.heard, 1.0);
  p.interactor->Initialize();
  p.window->SetSize(width, height);
  p.slider->EnabledOn();
  p.look_from(kFirstEye);
  // A review begins with what matters: the worst spot, or the finished sheet.
  if (preview.spots.empty())
    p.go_to(p.total_s());
  else
    p.go_to_spot(0);
}

LookWindow::~LookWindow() = default;

void LookWindow::go_to(double time_s) {
  go_to(time_s, false);
}
void LookWindow::go_to(double time_s, bool dragging) {
  parts_->dragging = dragging;
  parts_->go_to(time_s);
}
void LookWindow::go_to_spot(int rank) {
  parts_->dragging = false;
  parts_->go_to_spot(rank);
}
void LookWindow::press(const std::string& key) {
  parts_->dragging = false;
  parts_->press(key);
}
void LookWindow::click(int x, int y) {
  parts_->pick(x, y);
}
const LookState& LookWindow::state() const {
  return parts_->state;
}
vtkRenderWindowInteractor* LookWindow::interactor() const {
  return parts_->interactor;
}
vtkRenderWindow* LookWindow::window() const {
  return parts_->window;
}

Vec2 LookWindow::pixel_of(Vec3 place) const {
  parts_->scene->SetWorldPoint(place.x, place.y, place.z, 1);
  parts_->scene->WorldToDisplay();
  const double* const at = parts_->scene->GetDisplayPoint();
  return {at[0], at[1]};
}

void LookWindow::film(std::function<Drawing(const LookState&, const std::string&)> panel) {
  parts_->slider->EnabledOff();
  parts_->film = std::move(panel);
}
void LookWindow::look_at(const Box3& box) {
  parts_->look_from(kFirstEye, box);
}

std::optional<Fault> LookWindow::save(const std::string& file) {
  const auto png = png_of(window_pixels(parts_->window));
  return write_whole_file(file, png);
}

void LookWindow::run() {
  parts_->interactor->CreateRepeatingTimer(kTick_ms);
  parts_->interactor->Start();
}

bool has_display() {
  const char* const display = std::getenv("DISPLAY");
  return display && *display;
}

Fault no_display(const std::string& instead) {
  return Fault("no display for the window", instead);
}

std::optional<Fault> look(const Preview& preview, const std::string& instead) {
  if (!has_display())
    return no_display(instead);
  LookWindow(preview, 1200, 750).run();
  return std::nullopt;
}

} // namespace snagmap
