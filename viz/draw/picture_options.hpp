// How pictures are wanted.
#pragma once

#include "viz/draw/colours.hpp"

#include <string>
#include <vector>

namespace snagmap {

struct PictureOptions {
  int width = 1600, height = 1000; ///< pixels, 320 to 8000
  Colour background{255, 255, 255};
  bool plain = false; ///< charts: no title, frame, notes or footer, kPlainWide_mm wide, type of 8 to 10 pt
  /// Names of the pictures wanted (see picture_names); empty: all.
  std::vector<std::string> which;
  int worst = 14; ///< close-ups of at most this many webs that snag, worst first; of three where none does
};

} // namespace snagmap
