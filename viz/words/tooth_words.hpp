// What is said of the teeth on a web, and of the two numbers side by side.
#pragma once

#include "sim/tooth/web_tooth.hpp"
#include "viz/words/shown.hpp"

#include <string>

namespace snagmap {

/// "T 3.2 (0.4 to 9)"; past 100 and under 0.01 it says no more than that.
std::string tooth_band_text(double t, double low, double high);

/// One sentence: side, push, what small motions do, the tooth rate where it meets the web's own.
std::string tooth_words(const WebTooth& tooth, const Shown& shown);

/// One sentence: whether S and T agree, and what settles it where they do not.
std::string both_words(const Spot& spot, const WebTooth& tooth);

/// Whether the side changes what T says, in one sentence; empty: it does not.
std::string side_words(const WebTooth& tooth);

/// "0.05 mm too deep", "0.05 mm too shallow"
std::string over_cut_words(double over_cut_mm, const Shown& shown);

/// What the two numbers are: said under every table.
std::string two_numbers_words();

} // namespace snagmap
