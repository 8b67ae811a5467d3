// What is written on the window: state, the wall picked, legend, spots along the slider, help.
#pragma once

#include "viz/draw/drawing.hpp"
#include "viz/window/window.hpp"

namespace snagmap {

constexpr double kSliderLow = 0.06, kSliderHigh = 0.94, kSliderHeight = 0.07; // shares of the window
constexpr double kSliderCap = 0.004,
                 kSliderInset = 0.010; // shares of the rail: its end, and where the knob's middle stops

Drawing window_panel(const Preview& preview, const LookState& state, const std::string& lean_words, int width,
                     int height);
Colour coloured(Colouring colouring, const Preview& preview, int sample, Level level, double thickest_mm);
/// Lines about a sample's web.
std::vector<std::string> words_of(const Preview& preview, int sample, Level level);

} // namespace snagmap
