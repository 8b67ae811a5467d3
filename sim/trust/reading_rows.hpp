// The rows of readings, one by one: walls, and strips that sag, tear and peel.
#pragma once

#include "sim/scene/sections.hpp"
#include "sim/trust/readings.hpp"

#include <cstddef>
#include <map>
#include <optional>
#include <utility>

namespace snagmap {

/// Reads each row or table into `out`; what is wrong goes to the faults of `reading`.
class RowReader {
public:
  RowReader(SceneReading& reading_, Readings& out_) : reading(reading_), out(out_) {}
  void wall(const SceneValue& row);
  void sag(const SceneValue& row);
  void tear(const SceneValue& row);
  void peel(const SceneValue& row);

private:
  std::optional<std::size_t> numbered_wall(SceneTable& table, int number);
  std::optional<std::size_t> described_wall(SceneTable& table);

  SceneReading& reading;
  Readings& out;
  std::map<std::size_t, std::pair<WallOutcome, int>> seen; // of a wall of the piece: outcome and line
};

} // namespace snagmap
