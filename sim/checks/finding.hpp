// A finding that is no web, and the clock time of a stage.
#pragma once

#include "models/vec.hpp"

#include <cstdint>
#include <optional>
#include <string>

namespace snagmap {

/// A finding that is no web: rapid in foam, nut in foam, cut into the table ... One that has a line has its
/// moment, too; one that concerns the whole job has neither.
struct Finding {
  std::string kind;              ///< stable key, e.g. "rapid-in-foam"
  bool stops_job = false;        ///< makes the exit status 3
  std::int32_t program_line = 0; ///< 0: none
  std::optional<double> time_s;
  std::optional<Vec3> place_mm;
  std::string words;
};

struct StageTime {
  std::string stage;
  double seconds = 0;
};

} // namespace snagmap
