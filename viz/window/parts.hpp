// What the window is made of: its widgets, its state, and the deeds that keys and mouse ask for. Private to
// window*.cpp.
#pragma once

#include "viz/draw/raster.hpp"
#include "viz/window/skin.hpp"
#include "viz/window/window.hpp"

#include <vtkCallbackCommand.h>
#include <vtkNew.h>
#include <vtkRenderWindow.h>
#include <vtkRenderWindowInteractor.h>
#include <vtkRenderer.h>
#include <vtkSliderRepresentation2D.h>
#include <vtkSliderWidget.h>

namespace snagmap {

constexpr int kTick_ms = 60; ///< between two frames of the play

struct LookWindow::Parts {
  explicit Parts(const Preview& p) : preview(p), finder(p) {}

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
  std::unique_ptr<WindowSkin> coarse, fine; ///< while the slider is dragged, and at rest
  std::vector<vtkSmartPointer<vtkActor>> cutters;
  double thickest_mm = 0;
  std::string lean_words;
  std::function<Drawing(const LookState&, const std::string&)> film; ///< see LookWindow::film
  bool dragging = false;
  int saved = 0;
  std::vector<int> by_time; ///< spots in order of time

  double total_s() const { return std::max(preview.motion.total_s(), 1e-9); }
  /// The web beside the cutter now, as a spot: the found one nearest in time on that web, moved to this
  /// sample.
  std::optional<Spot> web_now() const;

  // viz/window/draw.cpp
  void show(); ///< the moment of `state`: skin, cutter, words
  void draw(); ///< words and frame only
  void recolour();
  void look_from(const Eye& eye) { look_from(eye, preview.scene.sheet); }
  void look_from(const Eye& eye, const Box3& box);
  void pick(int x, int y);

  // viz/window/keys.cpp
  void press(const std::string& key);
  void go_to(double time_s);
  void go_to_spot(int rank);
  void step_spot(int direction);
  void step_move(int by);
  void save_next();
  static void hear(vtkObject*, unsigned long event, void* self, void*);

private:
  WindowSkin::Paint paint() const;
  int sample_now() const; ///< nearest in time; -1 without samples
  void cutter_to(const Move& move, double s);
};

} // namespace snagmap
