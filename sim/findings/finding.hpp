// A finding that is no web, and the clock time of a stage.
#pragma once

#include "models/base/vec.hpp"
#include "sim/findings/facts.hpp"

#include <cstdint>
#include <optional>
#include <string>

namespace snagmap {

/// A finding that is no web: rapid in foam, nut in foam, cut into the table ... One that has a line has its
/// moment, too; one that concerns the whole job has neither.
struct Finding {
  Fact what;
  bool stops_job = false;        ///< makes the exit status 3
  std::int32_t program_line = 0; ///< 0: none
  std::optional<double> time_s;
  std::optional<Vec3> place_mm;

  FindingKind kind() const {
    return std::visit([](const auto& fact) { return fact.kind; }, what);
  }
};

/// One of the whole job.
inline Finding whole_job(Fact what, bool stops_job = false) {
  Finding finding;
  finding.what = std::move(what);
  finding.stops_job = stops_job;
  return finding;
}
/// One with its moment and place.
inline Finding at_moment(Fact what, std::int32_t line, double time_s, Vec3 place_mm, bool stops_job = false) {
  Finding finding = whole_job(std::move(what), stops_job);
  finding.program_line = line;
  finding.time_s = time_s;
  finding.place_mm = place_mm;
  return finding;
}

struct StageTime {
  std::string stage;
  double seconds = 0;
};

} // namespace snagmap
