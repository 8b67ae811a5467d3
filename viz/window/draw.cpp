// What the window shows of a moment: skin, cutter, words; where it looks from; what lies under a pixel.
#include "viz/window/panel.hpp"
#include "viz/window/parts.hpp"

#include <fmt/format.h>
#include <vtkCamera.h>
#include <vtkCellPicker.h>

#include <algorithm>
#include <cmath>

namespace snagmap {

WindowSkin::Paint LookWindow::Parts::paint() const {
  return [this](int sample) {
    return sample < 0 ? kFoam : coloured(state.colouring, preview, sample, finder.level(sample), thickest_mm);
  };
}

int LookWindow::Parts::sample_now() const {
  const auto& samples = preview.samples;
  if (samples.empty())
    return -1;
  const auto after = std::lower_bound(samples.begin(), samples.end(), state.time_s,
                                      [](const PathSample& s, double t) { return s.time_s < t; });
  auto i = static_cast<int>(after - samples.begin());
  if (i == static_cast<int>(samples.size()) ||
      (i > 0 && state.time_s - samples[static_cast<std::size_t>(i - 1)].time_s <
                    samples[static_cast<std::size_t>(i)].time_s - state.time_s))
    --i;
  return i;
}

std::optional<Spot> LookWindow::Parts::web_now() const {
  if (state.spot >= 0)
    return preview.spots[static_cast<std::size_t>(state.spot)];
  const int i = sample_now();
  if (i < 0)
    return std::nullopt;
  const PathSample& s = preview.samples[static_cast<std::size_t>(i)];
  const Spot* nearest = nullptr;
  for (const Spot& spot : preview.spots)
    if (spot.web == s.web &&
        (!nearest || std::abs(spot.time_s - state.time_s) < std::abs(nearest->time_s - state.time_s)))
      nearest = &spot;
  if (!nearest || s.web < 0 || std::abs(s.time_s - state.time_s) > 0.5)
    return std::nullopt;
  Spot here = *nearest;
  const Vec2 wall{s.wall_x_mm, s.wall_y_mm}, away = Vec2{s.x_mm, s.y_mm} - wall;
  if (norm(away) <= 0)
    return std::nullopt;
  here.normal = (1 / norm(away)) * away;
  here.place_mm = {wall.x, wall.y, s.root_z_mm};
  here.question.web.h_mm = s.top_z_mm - s.root_z_mm;
  here.question.web.w_mm = s.w_mm;
  here.answer.has_lean = s.s < 1;
  if (here.answer.has_lean && nearest->answer.lean_mm != 0)
    here.answer.u_max_mm = nearest->answer.u_max_mm * s.lean_mm / nearest->answer.lean_mm;
  return here;
}

void LookWindow::Parts::cutter_to(const Move& move, double s) {
  const Vec3 tip = point_at(move, s);
  for (std::size_t c = 0; c < cutters.size(); ++c) {
    cutters[c]->SetPosition(tip.x, tip.y, tip.z);
    cutters[c]->SetVisibility(static_cast<int>(c) == move.tool);
  }
}

void LookWindow::Parts::show() {
  const PathPlace place = place_at(preview.path, preview.motion, state.time_s);
  state.move = static_cast<std::uint32_t>(place.move);
  const auto& moves = preview.path.moves;
  if (!moves.empty()) {
    const Move& move = moves[std::min(place.move, moves.size() - 1)];
    state.program_line = move.line;
    cutter_to(move, place.s);
  }
  // A move counts as done once half of it is: the record keeps whole moves.
  const auto t = static_cast<Moment>(
      std::min<std::size_t>(place.move + (place.s >= 0.5 || state.spot >= 0 ? 1 : 0), preview.record->end()));
  const std::optional<Spot> web = web_now();
  std::optional<BentWeb> bent;
  lean_words.clear();
  if (web) {
    bent.emplace(*web, preview);
    if (bent->shape_only) {
      bent->scale(state.exaggeration);
      lean_words = "bent web: shape only";
    } else {
      bent->factor = state.exaggeration;
      lean_words = state.exaggeration == 1
                       ? "lean at true size"
                       : fmt::format("lean drawn {:g} times its size", state.exaggeration);
    }
  }
  (dragging ? *coarse : *fine).update(t, web ? &*web : nullptr, bent ? &*bent : nullptr, paint());
  coarse->show(dragging);
  fine->show(!dragging);
  rail->SetValue(state.time_s);
  draw();
}

void LookWindow::Parts::draw() {
  const int* const size = window->GetSize();
  panel->show(film ? film(state, lean_words) : window_panel(preview, state, lean_words, size[0], size[1]));
  scene->ResetCameraClippingRange();
  window->Render();
}

void LookWindow::Parts::recolour() {
  coarse->recolour(paint());
  fine->recolour(paint());
  draw();
}

void LookWindow::Parts::look_from(const Eye& eye, const Box3& box) {
  const int* const size = window->GetSize();
  const Projection v = fit(eye, box, {0.10 * size[0], 0.12 * size[1]}, {0.84 * size[0], 0.86 * size[1]});
  const Vec3 middle = v.centre + ((size[0] / 2.0 - v.centre_px.x) / v.px_per_mm) * v.right +
                      ((v.centre_px.y - size[1] / 2.0) / v.px_per_mm) * v.up;
  vtkCamera* const camera = scene->GetActiveCamera();
  camera->ParallelProjectionOn();
  camera->SetParallelScale(size[1] / 2.0 / v.px_per_mm);
  camera->SetFocalPoint(middle.x, middle.y, middle.z);
  camera->SetPosition(middle.x + 2000 * v.back.x, middle.y + 2000 * v.back.y, middle.z + 2000 * v.back.z);
  camera->SetViewUp(v.up.x, v.up.y, v.up.z);
}

void LookWindow::Parts::pick(int x, int y) {
  vtkNew<vtkCellPicker> picker;
  picker->SetTolerance(0.0005);
  picker->PickFromListOn();
  for (const auto& actor : fine->actors())
    picker->AddPickList(actor);
  state.picked.clear();
  if (picker->Pick(x, y, 0, scene)) {
    double p[3], n[3];
    picker->GetPickPosition(p);
    picker->GetPickNormal(n);
    const int sample = finder.at({p[0], p[1], p[2]}, {n[0], n[1], n[2]});
    if (sample >= 0)
      state.picked = words_of(preview, sample, finder.level(sample));
    else
      state.picked = {"no web beside the cutter here"};
  }
  draw();
}

} // namespace snagmap
