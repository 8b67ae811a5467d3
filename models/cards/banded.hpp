// A value with the range it may take and the source of both.
#pragma once

#include <string>

namespace snagmap {

struct Banded {
  double nominal = 0, low = 0, high = 0;
  std::string
      source; ///< published source, "common practice, no source", "from memory", "a guess", "the scene"
  bool guess = false; ///< true when no source stands behind the value: the result then shows it as a band
};

} // namespace snagmap
