// How pictures are wanted.
#pragma once

#include "viz/draw/colours.hpp"

#include <string>
#include <vector>

namespace snagmap {

struct PictureOptions {
  int width = 1600, height = 1000; ///< pixels, 320 to 8000
  Colour background{255, 255, 255};
  /// Names of the pictures wanted (see picture_names); empty: all.
  std::vector<std::string> which;
  int worst = 3; ///< close-ups of this many worst spots, each at a place of its own; named by rank
};

} // namespace snagmap
