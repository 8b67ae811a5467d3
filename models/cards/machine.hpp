// Machine cards: generic classes of machine with their limits.
#pragma once

#include <array>
#include <string>
#include <vector>

namespace snagmap {

struct MachineCard {
  std::string name, title, source;
  std::array<double, 3> feed_mm_min{};  ///< greatest feed of each axis, x y z
  std::array<double, 3> rapid_mm_min{}; ///< greatest rapid of each axis
  std::array<double, 3> acceleration_mm_s2{};
  std::array<double, 3> jerk_mm_s3{}; ///< 0: no jerk limit
  double corner_deviation_mm = 0.02;  ///< path deviation allowed at a corner
  double spindle_min_rpm = 0, spindle_max_rpm = 0;
  double spindle_run_up_s = 0;
  double tool_change_s = 0;
};

const std::vector<MachineCard>& machine_cards();

} // namespace snagmap
