// Length along the path against program time.
#pragma once

#include "sim/motion/motion.hpp"
#include "sim/path/path.hpp"

#include <algorithm>
#include <vector>

namespace snagmap {

class Way {
public:
  /// Both must outlive it.
  Way(const Path& path, const Motion& motion) : path_(path), motion_(motion), at_mm_{0} {
    for (const Move& move : path.moves)
      at_mm_.push_back(at_mm_.back() + length_mm(move));
  }
  /// The place at a length along the path, rapids included.
  PathPlace place(double mm) const {
    const auto past = std::upper_bound(at_mm_.begin(), at_mm_.end() - 1, mm);
    const auto move = static_cast<std::size_t>(std::max<std::ptrdiff_t>(1, past - at_mm_.begin()) - 1);
    const double length = at_mm_[move + 1] - at_mm_[move];
    return {move, length > 0 ? std::clamp((mm - at_mm_[move]) / length, 0.0, 1.0) : 0};
  }
  double time_s(double mm) const {
    const PathPlace at = place(mm);
    return motion_at(path_, motion_, at.move, at.s).time_s;
  }
  double way_mm(double time_s) const {
    const PathPlace at = place_at(path_, motion_, time_s);
    return at_mm_[at.move] + at.s * (at_mm_[at.move + 1] - at_mm_[at.move]);
  }

private:
  const Path& path_;
  const Motion& motion_;
  std::vector<double> at_mm_; ///< before each move; one more at the end
};

} // namespace snagmap
