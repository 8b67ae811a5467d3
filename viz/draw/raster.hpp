// Drawings and 3D stages to pixels, off-screen.
#pragma once

#include "models/base/fault.hpp"
#include "viz/draw/drawing.hpp"
#include "viz/draw/png.hpp"

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

class vtkRenderWindow;
class vtkRenderer;

namespace snagmap {

class Stage; // viz/draw/stage.hpp

/// A drawing kept over a live 3D view, one pixel of the drawing for one of the window.
class Overlay {
public:
  explicit Overlay(vtkRenderer* renderer);
  ~Overlay();
  Overlay(const Overlay&) = delete;
  Overlay& operator=(const Overlay&) = delete;
  void show(Drawing drawing);

private:
  struct Parts;
  std::unique_ptr<Parts> parts_;
};

/// Draws at twice the size and averages, so edges and small text are smooth without multisampling (which
/// costs seconds a frame in software). With a stage, its 3D view fills the whole picture beneath the drawing.
/// Needs ensure_off_screen() to have succeeded.
Pixels rasterised(const Drawing& drawing, Stage* stage = nullptr);

/// What a window shows.
Pixels window_pixels(vtkRenderWindow* window);

} // namespace snagmap
