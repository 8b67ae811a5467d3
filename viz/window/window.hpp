// The window: the cut at any moment, walked through by hand.
#pragma once

#include "models/base/fault.hpp"
#include "sim/preview/preview.hpp"
#include "viz/draw/drawing.hpp"

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

class vtkRenderWindow;
class vtkRenderWindowInteractor;

namespace snagmap {

enum class Colouring { level, snag, thickness, lean };

/// What the window shows, in words and numbers: the same that stands on the screen.
struct LookState {
  double time_s = 0;
  std::uint32_t move = 0;
  std::int32_t program_line = 0;
  int spot = -1; ///< rank in preview.spots when stepped to one
  Colouring colouring = Colouring::snag;
  double exaggeration = 1;
  bool playing = false, help = false;
  std::vector<std::string> picked; ///< of the wall last clicked or stepped to
};

class LookWindow {
public:
  /// `off_screen` draws without a window, for tests. A display must be there (DISPLAY, or
  /// ensure_off_screen()).
  LookWindow(const Preview& preview, int width, int height, bool off_screen = false);
  ~LookWindow();
  LookWindow(const LookWindow&) = delete;
  LookWindow& operator=(const LookWindow&) = delete;

  void go_to(double time_s);
  /// Coarse while the slider is dragged, so that the picture keeps up; fine otherwise.
  void go_to(double time_s, bool dragging);
  void go_to_spot(int rank);
  /// Names of keys as X gives them: "space", "Right", "n" ... Every deed of the mouse has a key.
  void press(const std::string& key);
  /// Pixels from the lower left, as VTK counts them.
  void click(int x, int y);
  /// In place of slider and words of its own, what `panel` draws of a moment and of how the lean is drawn.
  void film(std::function<Drawing(const LookState&, const std::string& lean_words)> panel);
  void look_at(const Box3& box); ///< fits it into the window, seen as at first
  std::optional<Fault> save(const std::string& file);
  const LookState& state() const;
  /// Pixel (from the lower left) where a place of the sheet is seen.
  Vec2 pixel_of(Vec3 place) const;
  void run(); ///< until the user closes it
  vtkRenderWindowInteractor* interactor() const;
  vtkRenderWindow* window() const;

private:
  struct Parts;
  std::unique_ptr<Parts> parts_;
};

/// Whether the user's session names a display.
bool has_display();
/// That there is none; `instead` is the way out.
Fault no_display(const std::string& instead);
/// Opens the window on the user's display and returns when it is closed; without one the fault above.
std::optional<Fault> look(const Preview& preview, const std::string& instead);

} // namespace snagmap
