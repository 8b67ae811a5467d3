#include "viz/window.hpp"

#include "viz/cutter_mesh.hpp"
#include "viz/picture_set.hpp"
#include "viz/raster.hpp"
#include "viz/vtk/mesh.hpp"
#include "viz/window_panel.hpp"
#include "viz/vtk/modules.hpp"

#include <fmt/format.h>
#include <tbb/parallel_for.h>
#include <vtkActor.h>
#include <vtkCallbackCommand.h>
#include <vtkCamera.h>
#include <vtkCellData.h>
#include <vtkCellPicker.h>
#include <vtkInteractorStyleTrackballCamera.h>
#include <vtkNew.h>
#include <vtkObjectFactory.h>
#include <vtkPolyDataMapper.h>
#include <vtkProperty.h>
#include <vtkProperty2D.h>
#include <vtkRenderWindow.h>
#include <vtkRenderWindowInteractor.h>
#include <vtkRenderer.h>
#include <vtkSliderRepresentation2D.h>
#include <vtkSliderWidget.h>
#include <vtkTextProperty.h>
#include <vtkUnsignedCharArray.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <functional>

namespace snagmap {
namespace {

constexpr double kDragCells = 15000, kFullCells = 50000;  // cells in plan: what one frame can mesh while dragging, and at rest
constexpr double kPlayThrough_s = 60;                      // a whole program plays in about this time
constexpr int kTick_ms = 60;

double cell_for(const Preview& preview, double cells) {
  const Vec3 size = preview.scene.sheet.high - preview.scene.sheet.low;
  return std::max(preview.record->voxel_mm(), std::sqrt(size.x * size.y / cells));
}

/// The camera's own keys are off: every key belongs to the window. A press that does not travel is a click on a
/// wall; one that does turns the view.
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
    if (std::abs(at[0] - pressed_at_[0]) + std::abs(at[1] - pressed_at_[1]) < 5 && clicked) clicked(at[0], at[1]);
  }

private:
  int pressed_at_[2] = {0, 0};
};
vtkStandardNewMacro(Style)

/// The skin as one actor for each tile; only tiles that a move touched are made anew.
struct SkinActors {
  Skin skin;
  std::vector<SkinTile> tiles;
  std::vector<std::vector<int>> zones;
  std::vector<vtkSmartPointer<vtkActor>> actors;
  std::vector<int> bent;
  Moment at = 0;
  bool made = false;

  SkinActors(const Preview& preview, double cells, vtkRenderer* renderer) : skin(preview, {cell_for(preview, cells), 0, 32, std::nullopt, std::nullopt}) {
    const auto n = static_cast<std::size_t>(skin.tiles());
    tiles.resize(n);
    zones.resize(n);
    for (std::size_t i = 0; i < n; ++i) {
      auto actor = vtkSmartPointer<vtkActor>::New();
      actor->SetMapper(vtkNew<vtkPolyDataMapper>());
      set_matte(actor->GetProperty());
      renderer->AddActor(actor);
      actors.push_back(actor);
    }
  }
  void show(bool visible) {
    for (const auto& actor : actors) actor->SetVisibility(visible);
  }
};

} // namespace

struct LookWindow::Parts {
  const Preview& preview;
  Zones finder;
  LookState state;
  vtkNew<vtkRenderWindow> window;
  vtkNew<vtkRenderWindowInteractor> interactor;
  vtkNew<vtkRenderer> scene;
  vtkNew<vtkSliderWidget> slider;
  vtkNew<vtkSliderRepresentation2D> rail;
  vtkNew<vtkCallbackCommand> heard;
  std::unique_ptr<Overlay> panel;
  std::unique_ptr<SkinActors> coarse, fine;
  std::vector<vtkSmartPointer<vtkActor>> cutters;
  double thickest_mm = 0;
  std::string lean_words;
  bool dragging = false;
  int saved = 0;
  std::vector<int> by_time;  ///< spots in order of time

  explicit Parts(const Preview& p) : preview(p), finder(p) {}

  double total_s() const { return std::max(preview.motion.total_s(), 1e-9); }

  std::vector<Colour> colours_of(const std::vector<int>& zones) const {
    std::vector<Colour> out(zones.size(), kFoam);
    for (std::size_t i = 0; i < zones.size(); ++i)
      if (zones[i] >= 0) out[i] = coloured(state.colouring, preview, zones[i], finder.level(zones[i]), thickest_mm);
    return out;
  }

  /// The sample nearest in time; -1 without samples.
  int sample_now() const {
    const auto& samples = preview.samples;
    if (samples.empty()) return -1;
    const auto after = std::lower_bound(samples.begin(), samples.end(), state.time_s, [](const PathSample& s, double t) { return s.time_s < t; });
    auto i = static_cast<int>(after - samples.begin());
    if (i == static_cast<int>(samples.size()) || (i > 0 && state.time_s - samples[static_cast<std::size_t>(i - 1)].time_s < samples[static_cast<std::size_t>(i)].time_s - state.time_s)) --i;
    return i;
  }

  /// The web beside the cutter now, as a spot: the found one nearest in time on that web, moved to this sample.
  std::optional<Spot> web_now() const {
    if (state.spot >= 0) return preview.spots[static_cast<std::size_t>(state.spot)];
    const int i = sample_now();
    if (i < 0) return std::nullopt;
    const PathSample& s = preview.samples[static_cast<std::size_t>(i)];
    const Spot* nearest = nullptr;
    for (const Spot& spot : preview.spots)
      if (spot.web == s.web && (!nearest || std::abs(spot.time_s - state.time_s) < std::abs(nearest->time_s - state.time_s))) nearest = &spot;
    if (!nearest || s.web < 0 || std::abs(s.time_s - state.time_s) > 0.5) return std::nullopt;
    Spot here = *nearest;
    const Vec2 wall{s.wall_x_mm, s.wall_y_mm}, away = Vec2{s.x_mm, s.y_mm} - wall;
    if (norm(away) <= 0) return std::nullopt;
    here.normal = (1 / norm(away)) * away;
    here.place_mm = {wall.x, wall.y, s.root_z_mm};
    here.question.web.h_mm = s.top_z_mm - s.root_z_mm;
    here.question.web.w_mm = s.w_mm;
    here.answer.has_lean = s.s < 1;
    if (here.answer.has_lean && nearest->answer.lean_mm != 0) here.answer.u_max_mm = nearest->answer.u_max_mm * s.lean_mm / nearest->answer.lean_mm;
    return here;
  }

  void update(SkinActors& skin, Moment t) {
    std::vector<int> todo;
    if (!skin.made) {
      for (int i = 0; i < skin.skin.tiles(); ++i) todo.push_back(i);
    } else {
      todo = skin.skin.changed(skin.at, t);
    }
    tbb::parallel_for(std::size_t{0}, todo.size(), [&](std::size_t k) {
      const auto i = static_cast<std::size_t>(todo[k]);
      skin.tiles[i] = skin.skin.tile(todo[k], t);
      skin.zones[i] = finder.of(skin.tiles[i].mesh);
    });
    skin.at = t;
    skin.made = true;
    // Bent tiles of the last picture stand straight again, those of this one bend.
    todo.insert(todo.end(), skin.bent.begin(), skin.bent.end());
    skin.bent.clear();
    lean_words.clear();
    const std::optional<Spot> web = web_now();
    std::optional<BentWeb> bent;
    if (web) {
      bent.emplace(*web, preview);
      if (bent->shape_only) {
        bent->scale(state.exaggeration);
        lean_words = "bent web: shape only";
      } else {
        bent->factor = state.exaggeration;
        lean_words = state.exaggeration == 1 ? "lean at true size" : fmt::format("lean drawn {:g} times its size", state.exaggeration);
      }
      const double reach = web->question.web.w_mm + 2 * web->question.web.h_mm + 5;
      for (std::size_t i = 0; i < skin.tiles.size(); ++i) {
        const auto& points = skin.tiles[i].mesh.points;
        const bool near = std::any_of(points.begin(), points.end(), [&](Vec3 p) { return norm(xy(p) - xy(web->place_mm)) < reach; });
        if (near) skin.bent.push_back(static_cast<int>(i));
      }
      todo.insert(todo.end(), skin.bent.begin(), skin.bent.end());
    }
    std::sort(todo.begin(), todo.end());
    todo.erase(std::unique(todo.begin(), todo.end()), todo.end());
    for (const int tile : todo) {
      const auto i = static_cast<std::size_t>(tile);
      const bool bends = bent && std::find(skin.bent.begin(), skin.bent.end(), tile) != skin.bent.end();
      if (!bends) {
        set(skin, i, skin.tiles[i].mesh);
        continue;
      }
      Mesh mesh = skin.tiles[i].mesh;
      for (Vec3& p : mesh.points) p = p + (*bent)(p);
      set(skin, i, mesh);
    }
  }
  void set(SkinActors& skin, std::size_t i, const Mesh& mesh) {
    auto* const mapper = vtkPolyDataMapper::SafeDownCast(skin.actors[i]->GetMapper());
    mapper->SetInputData(poly_data(mesh, colours_of(skin.zones[i])));
  }

  void show() {
    const PathPlace place = place_at(preview.path, preview.motion, state.time_s);
    state.move = static_cast<std::uint32_t>(place.move);
    const auto& moves = preview.path.moves;
    if (!moves.empty()) {
      const Move& move = moves[std::min(place.move, moves.size() - 1)];
      state.program_line = move.line;
      const Vec3 tip = point_at(move, place.s);
      for (std::size_t c = 0; c < cutters.size(); ++c) {
        cutters[c]->SetPosition(tip.x, tip.y, tip.z);
        cutters[c]->SetVisibility(static_cast<int>(c) == move.tool);
      }
    }
    // A move counts as done once half of it is: the record keeps whole moves.
    const auto t = static_cast<Moment>(std::min<std::size_t>(place.move + (place.s >= 0.5 || state.spot >= 0 ? 1 : 0), preview.record->end()));
    SkinActors& skin = dragging ? *coarse : *fine;
    update(skin, t);
    coarse->show(dragging);
    fine->show(!dragging);
    rail->SetValue(state.time_s);
    draw();
  }
  void draw() {
    const int* const size = window->GetSize();
    panel->show(window_panel(preview, state, lean_words, size[0], size[1]));
    scene->ResetCameraClippingRange();
    window->Render();
  }

  void recolour() {
    for (SkinActors* skin : {coarse.get(), fine.get()})
      for (std::size_t i = 0; skin->made && i < skin->tiles.size(); ++i) {
        auto* const mapper = vtkPolyDataMapper::SafeDownCast(skin->actors[i]->GetMapper());
        const std::vector<Colour> colours = colours_of(skin->zones[i]);
        const auto fresh = poly_data(skin->tiles[i].mesh, colours);
        mapper->GetInput()->GetCellData()->SetScalars(fresh->GetCellData()->GetScalars());
      }
    draw();
  }

  void look_from(const Eye& eye) {
    const int* const size = window->GetSize();
    const Projection v = fit(eye, preview.scene.sheet, {0.10 * size[0], 0.12 * size[1]}, {0.84 * size[0], 0.86 * size[1]});
    const Vec3 middle = v.centre + ((size[0] / 2.0 - v.centre_px.x) / v.px_per_mm) * v.right + ((v.centre_px.y - size[1] / 2.0) / v.px_per_mm) * v.up;
    vtkCamera* const camera = scene->GetActiveCamera();
    camera->ParallelProjectionOn();
    camera->SetParallelScale(size[1] / 2.0 / v.px_per_mm);
    camera->SetFocalPoint(middle.x, middle.y, middle.z);
    camera->SetPosition(middle.x + 2000 * v.back.x, middle.y + 2000 * v.back.y, middle.z + 2000 * v.back.z);
    camera->SetViewUp(v.up.x, v.up.y, v.up.z);
  }

  void pick(int x, int y) {
    vtkNew<vtkCellPicker> picker;
    picker->SetTolerance(0.0005);
    picker->PickFromListOn();
    for (const auto& actor : fine->actors) picker->AddPickList(actor);
    state.picked.clear();
    if (picker->Pick(x, y, 0, scene)) {
      double p[3], n[3];
      picker->GetPickPosition(p);
      picker->GetPickNormal(n);
      const int sample = finder.at({p[0], p[1], p[2]}, {n[0], n[1], n[2]});
      if (sample >= 0) state.picked = words_of(preview, sample, finder.level(sample));
      else state.picked = {"no web beside the cutter here"};
    }
    draw();
  }

  void step_spot(int direction) {
    if (by_time.empty()) return;
    auto next = by_time.end();
    if (direction > 0) {
      next = std::find_if(by_time.begin(), by_time.end(), [&](int i) { return preview.spots[static_cast<std::size_t>(i)].time_s > state.time_s + 1e-6; });
      if (next == by_time.end()) next = by_time.begin();
    } else {
      const auto back = std::find_if(by_time.rbegin(), by_time.rend(), [&](int i) { return preview.spots[static_cast<std::size_t>(i)].time_s < state.time_s - 1e-6; });
      next = back == by_time.rend() ? by_time.end() - 1 : back.base() - 1;
    }
    go_to_spot(*next);
  }
  void go_to_spot(int rank) {
    if (rank < 0 || rank >= static_cast<int>(preview.spots.size())) return;
    const Spot& spot = preview.spots[static_cast<std::size_t>(rank)];
    state.spot = rank;
    state.time_s = spot.time_s;
    const Shown shown{preview.scene.show_inch};
    state.picked = {fmt::format("Spot {}: S {:.2f}, {}", rank + 1, spot.s(), to_text(spot.level())),
                    fmt::format("band {:.2f} to {:.2f}", band_of(spot).low, band_of(spot).high),
                    "w " + shown.length(spot.question.web.w_mm),
                    "h " + shown.length(spot.question.web.h_mm),
                    "L " + shown.length(spot.question.web.length_mm()),
                    spot.answer.has_lean ? "lean " + shown.length(spot.answer.lean_mm) : "lean: none past S = 1",
                    fmt::format("program line {}", spot.program_line)};
    show();
  }
  void go_to(double t) {
    if (state.spot >= 0) state.picked.clear();  // they spoke of another moment
    state.spot = -1;
    state.time_s = std::clamp(t, 0.0, preview.motion.total_s());
    show();
  }

  void press(const std::string& key);
  static void hear(vtkObject*, unsigned long event, void* self, void*);
};

void LookWindow::Parts::press(const std::string& key) {
  vtkCamera* const camera = scene->GetActiveCamera();
  const auto step_move = [&](int by) {
    const auto last = static_cast<long>(preview.path.moves.size()) - 1;
    const auto i = static_cast<std::size_t>(std::clamp(static_cast<long>(state.move) + by, 0L, std::max(last, 0L)));
    go_to(by > 0 && static_cast<long>(state.move) == last ? total_s() : preview.motion.start_s[i]);
  };
  if (key == "space") {
    state.playing = !state.playing;
    if (state.playing && state.time_s >= total_s()) go_to(0);  // played out: from the start again
    draw();
  }
  else if (key == "Right") go_to(state.time_s + total_s() / 100);
  else if (key == "Left") go_to(state.time_s - total_s() / 100);
  else if (key == "period") step_move(1);
  else if (key == "comma") step_move(-1);
  else if (key == "Home") go_to(0);
  else if (key == "End") go_to(total_s());
  else if (key == "n") step_spot(1);
  else if (key == "p") step_spot(-1);
  else if (key == "w") go_to_spot(preview.spots.empty() ? -1 : (state.spot + 1) % static_cast<int>(preview.spots.size()));
  else if (key == "1" || key == "2" || key == "3" || key == "4") {
    state.colouring = static_cast<Colouring>(key[0] - '1');
    recolour();
  } else if (key == "plus" || key == "equal" || key == "KP_Add" || key == "minus" || key == "KP_Subtract") {
    const bool more = key == "plus" || key == "equal" || key == "KP_Add";
    state.exaggeration = std::clamp(state.exaggeration * (more ? 2 : 0.5), 0.25, 64.0);
    show();
  } else if (key == "a" || key == "d") camera->Azimuth(key == "a" ? -10 : 10), draw();
  else if (key == "Up" || key == "Down") camera->Elevation(key == "Up" ? 8 : -8), camera->OrthogonalizeViewUp(), draw();
  else if (key == "i" || key == "o") camera->Zoom(key == "i" ? 1.25 : 0.8), draw();
  else if (key == "t") look_from({-90, 90}), draw();
  else if (key == "f") look_from({-68, 50}), draw();
  else if (key == "F1" || key == "h") state.help = !state.help, draw();
  else if (key == "q" || key == "Escape") interactor->TerminateApp();
}

void LookWindow::Parts::hear(vtkObject* from, unsigned long event, void* self, void*) {
  auto& parts = *static_cast<Parts*>(self);
  switch (event) {
  case vtkCommand::KeyPressEvent: {
    const char* const key = parts.interactor->GetKeySym();
    if (!key) break;
    if (std::string(key) != "s") {
      parts.press(key);
      break;
    }
    std::string file;
    do file = fmt::format("snagmap-look-{:03}.png", ++parts.saved);
    while (std::filesystem::exists(file));
    const std::string png_words = "saved " + file;
    const Pixels pixels = window_pixels(parts.window);
    const auto png = png_of(pixels);
    const auto fault = write_file(file, png.data(), png.size());
    parts.state.picked = {fault ? fault->what : png_words};
    parts.draw();
    break;
  }
  case vtkCommand::StartInteractionEvent:
    if (from == parts.slider) parts.dragging = true;
    break;
  case vtkCommand::InteractionEvent:
    if (from == parts.slider) parts.go_to(parts.rail->GetValue());
    break;
  case vtkCommand::EndInteractionEvent:
    if (from != parts.slider) break;
    parts.dragging = false;
    parts.go_to(parts.rail->GetValue());
    break;
  case vtkCommand::TimerEvent:
    if (!parts.state.playing) break;
    parts.go_to(parts.state.time_s + parts.total_s() * kTick_ms / 1000 / kPlayThrough_s);
    if (parts.state.time_s >= parts.preview.motion.total_s()) parts.state.playing = false;
    break;
  case vtkCommand::ConfigureEvent: parts.draw(); break;
  default: break;
  }
}

LookWindow::LookWindow(const Preview& preview, int width, int height, bool off_screen) : parts_(std::make_unique<Parts>(preview)) {
  Parts& p = *parts_;
  for (const PathSample& s : preview.samples)
    if (s.web >= 0) p.thickest_mm = std::max(p.thickest_mm, static_cast<double>(s.w_mm));
  for (std::size_t i = 0; i < preview.spots.size(); ++i) p.by_time.push_back(static_cast<int>(i));
  std::stable_sort(p.by_time.begin(), p.by_time.end(), [&](int a, int b) { return preview.spots[static_cast<std::size_t>(a)].time_s < preview.spots[static_cast<std::size_t>(b)].time_s; });
  p.window->SetOffScreenRendering(off_screen);
  p.window->SetMultiSamples(0);
  p.window->SetSize(width, height);
  p.window->SetWindowName(("snagmap: " + (preview.scene.title.empty() ? std::string("look") : preview.scene.title)).c_str());
  p.window->AddRenderer(p.scene);
  p.scene->SetBackground(0.96, 0.97, 0.98);
  light(p.scene);
  p.interactor->SetRenderWindow(p.window);
  vtkNew<Style> style;
  style->clicked = [&p](int x, int y) { p.pick(x, y); };
  p.interactor->SetInteractorStyle(style);
  p.coarse = std::make_unique<SkinActors>(preview, kDragCells, p.scene);
  p.fine = std::make_unique<SkinActors>(preview, kFullCells, p.scene);
  for (const CutterCard& cutter : preview.scene.cutters) {
    const PaintedMesh mesh = cutter_mesh(cutter, {}, std::min(cutter.stick_out_mm, cutter_height_mm(cutter)), {});
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
  for (auto* point : {p.rail->GetPoint1Coordinate(), p.rail->GetPoint2Coordinate()}) point->SetCoordinateSystemToNormalizedDisplay();
  p.rail->GetPoint1Coordinate()->SetValue(kSliderLow, kSliderHeight);
  p.rail->GetPoint2Coordinate()->SetValue(kSliderHigh, kSliderHeight);
  p.rail->SetSliderLength(2 * (kSliderInset - kSliderCap));
  p.rail->SetSliderWidth(0.03);
  p.rail->SetTubeWidth(0.008);
  p.rail->SetEndCapLength(kSliderCap);
  p.rail->ShowSliderLabelOff();
  for (auto* part : {p.rail->GetTubeProperty(), p.rail->GetCapProperty()}) part->SetColor(0.47, 0.50, 0.54);
  p.rail->GetSliderProperty()->SetColor(kFlutes.r / 255.0, kFlutes.g / 255.0, kFlutes.b / 255.0);
  p.rail->GetSelectedProperty()->SetColor(0.06, 0.28, 0.38);
  p.slider->KeyPressActivationOff();  // or 'i' would switch it off
  p.slider->SetInteractor(p.interactor);
  p.slider->SetRepresentation(p.rail);
  p.slider->SetAnimationModeToJump();
  p.heard->SetClientData(&p);
  p.heard->SetCallback(Parts::hear);
  for (const auto event : {vtkCommand::StartInteractionEvent, vtkCommand::InteractionEvent, vtkCommand::EndInteractionEvent}) p.slider->AddObserver(event, p.heard);
  for (const auto event : {vtkCommand::KeyPressEvent, vtkCommand::TimerEvent, vtkCommand::ConfigureEvent})
    p.interactor->AddObserver(event, p.heard, 1.0);
  p.interactor->Initialize();
  p.window->SetSize(width, height);
  p.slider->EnabledOn();
  p.look_from({-68, 50});
  // A review begins with what matters: the worst spot, or the finished sheet.
  if (preview.spots.empty()) p.go_to(p.total_s());
  else p.go_to_spot(0);
}

LookWindow::~LookWindow() = default;

void LookWindow::go_to(double time_s) { go_to(time_s, false); }
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
void LookWindow::click(int x, int y) { parts_->pick(x, y); }
const LookState& LookWindow::state() const { return parts_->state; }
vtkRenderWindowInteractor* LookWindow::interactor() const { return parts_->interactor; }
vtkRenderWindow* LookWindow::window() const { return parts_->window; }

Vec2 LookWindow::pixel_of(Vec3 place) const {
  parts_->scene->SetWorldPoint(place.x, place.y, place.z, 1);
  parts_->scene->WorldToDisplay();
  const double* const at = parts_->scene->GetDisplayPoint();
  return {at[0], at[1]};
}

std::optional<Fault> LookWindow::save(const std::string& file) {
  const auto png = png_of(window_pixels(parts_->window));
  return write_file(file, png.data(), png.size());
}

void LookWindow::run() {
  parts_->interactor->CreateRepeatingTimer(kTick_ms);
  parts_->interactor->Start();
}

std::optional<Fault> look(const Preview& preview) {
  const char* const display = std::getenv("DISPLAY");
  if (!display || !*display)
    return Fault{"", 0, 0, "no display for the window", "run it on a desktop; 'snagmap preview' draws its pictures without one", ""};
  LookWindow(preview, 1200, 750).run();
  return std::nullopt;
}

} // namespace snagmap
