// What keys, slider and clock do.
#include "viz/window/parts.hpp"
#include "viz/words/spot_words.hpp"

#include "sim/text/whole_file.hpp"

#include <fmt/format.h>
#include <vtkCamera.h>

#include <algorithm>
#include <cmath>
#include <filesystem>

namespace snagmap {
namespace {
constexpr double kPlayThrough_s = 60; // a whole program plays in about this time
}

void LookWindow::Parts::step_spot(int direction) {
  if (by_time.empty())
    return;
  auto next = by_time.end();
  if (direction > 0) {
    next = std::find_if(by_time.begin(), by_time.end(), [&](int i) {
      return preview.spots[static_cast<std::size_t>(i)].time_s > state.time_s + 1e-6;
    });
    if (next == by_time.end())
      next = by_time.begin();
  } else {
    const auto back = std::find_if(by_time.rbegin(), by_time.rend(), [&](int i) {
      return preview.spots[static_cast<std::size_t>(i)].time_s < state.time_s - 1e-6;
    });
    next = back == by_time.rend() ? by_time.end() - 1 : back.base() - 1;
  }
  go_to_spot(*next);
}

void LookWindow::Parts::go_to_spot(int rank) {
  if (rank < 0 || rank >= static_cast<int>(preview.spots.size()))
    return;
  const Spot& spot = preview.spots[static_cast<std::size_t>(rank)];
  state.spot = rank;
  state.time_s = spot.time_s;
  const Shown shown{preview.scene.show_inch};
  state.picked = {fmt::format("Web {}: S {}, {}", spot.web, snag_text(spot.s()), to_text(spot.level())),
                  band_of(spot).words(),
                  "w " + shown.length(spot.question.web.w_mm),
                  "h " + shown.length(spot.question.web.h_mm),
                  "L " + shown.length(spot.question.web.length_mm()),
                  spot.answer.has_lean ? "lean " + shown.length(spot.answer.lean_mm)
                                       : "lean: none past S = 1",
                  fmt::format("program line {}", spot.program_line)};
  show();
}

void LookWindow::Parts::go_to(double t) {
  if (state.spot >= 0)
    state.picked.clear(); // they spoke of another moment
  state.spot = -1;
  state.time_s = std::clamp(t, 0.0, preview.motion.total_s());
  show();
}

void LookWindow::Parts::step_move(int by) {
  const auto last = static_cast<long>(preview.path.moves.size()) - 1;
  const auto i =
      static_cast<std::size_t>(std::clamp(static_cast<long>(state.move) + by, 0L, std::max(last, 0L)));
  go_to(by > 0 && static_cast<long>(state.move) == last ? total_s() : preview.motion.start_s[i]);
}

void LookWindow::Parts::save_next() {
  std::string file;
  do
    file = fmt::format("snagmap-look-{:03}.png", ++saved);
  while (std::filesystem::exists(file));
  const auto png = png_of(window_pixels(window));
  const auto fault = write_whole_file(file, png);
  state.picked = {fault ? fault->what : "saved " + file};
  draw();
}

void LookWindow::Parts::press(const std::string& key) {
  vtkCamera* const camera = scene->GetActiveCamera();
  if (key == "space") {
    state.playing = !state.playing;
    if (state.playing && state.time_s >= total_s())
      go_to(0); // played out: from the start again
    draw();
  } else if (key == "Right")
    go_to(state.time_s + total_s() / 100);
  else if (key == "Left")
    go_to(state.time_s - total_s() / 100);
  else if (key == "period")
    step_move(1);
  else if (key == "comma")
    step_move(-1);
  else if (key == "Home")
    go_to(0);
  else if (key == "End")
    go_to(total_s());
  else if (key == "n")
    step_spot(1);
  else if (key == "p")
    step_spot(-1);
  else if (key == "w")
    go_to_spot(preview.spots.empty() ? -1 : (state.spot + 1) % static_cast<int>(preview.spots.size()));
  else if (key == "1" || key == "2" || key == "3" || key == "4") {
    state.colouring = static_cast<Colouring>(key[0] - '1');
    recolour();
  } else if (key == "plus" || key == "equal" || key == "KP_Add" || key == "minus" || key == "KP_Subtract") {
    const bool more = key == "plus" || key == "equal" || key == "KP_Add";
    state.exaggeration = std::clamp(state.exaggeration * (more ? 2 : 0.5), 0.25, 64.0);
    show();
  } else if (key == "a" || key == "d")
    camera->Azimuth(key == "a" ? -10 : 10), draw();
  else if (key == "Up" || key == "Down")
    camera->Elevation(key == "Up" ? 8 : -8), camera->OrthogonalizeViewUp(), draw();
  else if (key == "i" || key == "o")
    camera->Zoom(key == "i" ? 1.25 : 0.8), draw();
  else if (key == "t")
    look_from({-90, 90}), draw();
  else if (key == "f")
    look_from({-68, 50}), draw();
  else if (key == "s")
    save_next();
  else if (key == "F1" || key == "h")
    state.help = !state.help, draw();
  else if (key == "q" || key == "Escape")
    interactor->TerminateApp();
}

void LookWindow::Parts::hear(vtkObject* from, unsigned long event, void* self, void*) {
  auto& parts = *static_cast<Parts*>(self);
  switch (event) {
  case vtkCommand::KeyPressEvent:
    if (const char* const key = parts.interactor->GetKeySym())
      parts.press(key);
    break;
  case vtkCommand::StartInteractionEvent:
    if (from == parts.slider)
      parts.dragging = true;
    break;
  case vtkCommand::InteractionEvent:
    if (from == parts.slider)
      parts.go_to(parts.rail->GetValue());
    break;
  case vtkCommand::EndInteractionEvent:
    if (from != parts.slider)
      break;
    parts.dragging = false;
    parts.go_to(parts.rail->GetValue());
    break;
  case vtkCommand::TimerEvent:
    if (!parts.state.playing)
      break;
    parts.go_to(parts.state.time_s + parts.total_s() * kTick_ms / 1000 / kPlayThrough_s);
    if (parts.state.time_s >= parts.preview.motion.total_s())
      parts.state.playing = false;
    break;
  case vtkCommand::ConfigureEvent:
    parts.draw();
    break;
  default:
    break;
  }
}

} // namespace snagmap
