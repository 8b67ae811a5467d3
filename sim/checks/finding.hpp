// A finding that is no web, and the clock time of a stage.
#pragma once

#include "models/vec.hpp"

#include <cstdint>
#include <string>

namespace snagmap {

/// A finding that is no web: rapid in foam, nut in foam, cut into the table ...
struct Finding {
  std::string kind;       ///< stable key, e.g. "rapid-in-foam"
  bool stops_job = false; ///< makes the exit status 3
  std::int32_t program_line = 0;
  double time_s = 0;
  Vec3 place_mm;
  std::string words;
};

struct StageTime {
  std::string stage;
  double seconds = 0;
};

} // namespace snagmap
