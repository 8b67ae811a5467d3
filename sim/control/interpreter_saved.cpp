// M70 to M73: modes kept and taken back (LinuxCNC, User Manual, M codes; checked with rs274).
#include "sim/control/interpreter.hpp"

#include <fmt/format.h>

#include <iterator>

namespace snagmap {

/// The modes belong to the subprogram that saved them. M72 does not restore the motion in force.
void Interpreter::save_or_restore(int code, int column) {
  if (options_.dialect == Dialect::grbl)
    throw Refusal{column, fmt::format("M{}: GRBL saves no modes", code),
                  "write the modes out where they change"};
  const std::size_t level = parameters_->depth;
  if (code == 70 || code == 73) {
    saved_[level] = {plane_,        scale_,         incremental_,   arc_centre_absolute_,
                     inverse_time_, feed_per_turn_, feed_mm_min_,   feed_known_,
                     rpm_,          spindle_on_,    anticlockwise_, coolant_,
                     return_to_r_,  corner_,        blend_um_,      system_,
                     length_of_,    code == 73};
    return;
  }
  if (code == 71) {
    saved_.erase(level);
    return;
  }
  const auto found = saved_.find(level);
  if (found == saved_.end())
    throw Refusal{column, "M72 without M70 before it: which modes?",
                  "save them by M70 in the same subprogram"};
  restore_modes(found->second, column);
}

void Interpreter::restore_modes(const SavedModes& to, int column) {
  if (compensation_.on())
    throw Refusal{column, "modes are restored under cutter compensation", "end it first (G40)"};
  plane_ = to.plane;
  scale_ = to.scale;
  incremental_ = to.incremental;
  arc_centre_absolute_ = to.arc_centre_absolute;
  inverse_time_ = to.inverse_time;
  feed_per_turn_ = to.feed_per_turn;
  feed_mm_min_ = to.feed_mm_min;
  feed_known_ = to.feed_known;
  rpm_ = to.rpm;
  spindle_on_ = to.spindle_on;
  anticlockwise_ = to.anticlockwise;
  coolant_ = to.coolant;
  return_to_r_ = to.return_to_r;
  corner_ = to.corner;
  blend_um_ = to.blend_um;
  length_of_ = to.length_of;
  if (system_ != to.system)
    select_system(to.system, column);
  update_shift();
}

void Interpreter::returned() {
  const std::size_t level = parameters_->depth;
  while (!saved_.empty() && saved_.rbegin()->first > level) {
    const SavedModes modes = saved_.rbegin()->second;
    saved_.erase(std::prev(saved_.end()));
    if (modes.on_return)
      restore_modes(modes, 1);
  }
}

} // namespace snagmap
