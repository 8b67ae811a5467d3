// The job as it runs: the window's own scene, frame by frame.
#pragma once

#include "viz/draw/drawing.hpp"
#include "viz/film/encoder.hpp"
#include "viz/film/plan.hpp"
#include "viz/window/window.hpp"

#include <functional>

namespace snagmap {

/// What stands on a frame: time and program line in the corner, title, the webs met so far that snag, lit up
/// as the cutter passes.
Drawing film_panel(const Preview& preview, const FilmPlan& plan, const LookState& state,
                   const LookWindow& window, const std::string& lean_words);
/// Draws all frames; `done` is told how many, false from it stops. Needs ensure_off_screen() to have
/// succeeded.
std::optional<Fault> draw_film(const Preview& preview, const FilmPlan& plan,
                               const std::function<std::optional<Fault>(const Pixels&)>& take,
                               const std::function<bool(int frames)>& done);

} // namespace snagmap
