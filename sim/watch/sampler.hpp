// Samples anywhere along a path.
#pragma once

#include "sim/watch/sampling.hpp"

namespace snagmap {

/// Samples anywhere on a path, which must outlive it.
class Sampler {
public:
  Sampler(const Path& path, double top_mm);
  /// `before` is the heading of the way before, for a way straight down or up that leads to none.
  Sample at(std::uint32_t move, double share, Vec2 before = {}) const;
  /// So far along the way from a sample, back where negative: as far as the way stays under the top, on the
  /// level of its pass, and does not go straight up.
  Sample along(const Sample& from, double way_mm) const;
  /// Sample::pass_step_mm of every move.
  const std::vector<double>& steps_mm() const { return step_; }

private:
  bool goes_on(const Sample& from, std::size_t move) const;

  const Path& path_;
  double top_mm_;
  std::vector<double> level_, step_; // of every move
  std::vector<Vec2> leads_to_;
};

} // namespace snagmap
