// Which spots of a job are solved with finite elements.
#pragma once

#include <cstddef>

namespace snagmap {

/// Worst first, whichever they are.
class SolveChoice {
public:
  static constexpr SolveChoice none() { return {Which::worst, 0}; }
  static constexpr SolveChoice worst(std::size_t count) { return {Which::worst, count}; }
  /// Those that could matter (verify.hpp), laminates among them; up to a limit of
  /// work.
  static constexpr SolveChoice plausible() { return {Which::plausible, 0}; }
  /// Every spot, without that limit.
  static constexpr SolveChoice all() { return {Which::all, 0}; }

  constexpr bool is_none() const { return which_ == Which::worst && count_ == 0; }
  constexpr bool limited() const { return which_ == Which::plausible; }
  /// Whether the spot of a rank (0: the worst) is chosen; `plausible` says whether its S could reach 0.5.
  constexpr bool takes(std::size_t rank, bool plausible) const {
    return which_ == Which::all || (which_ == Which::worst ? rank < count_ : plausible);
  }

private:
  enum class Which { worst, plausible, all };
  constexpr SolveChoice(Which which, std::size_t count) : which_(which), count_(count) {}
  Which which_;
  std::size_t count_;
};

} // namespace snagmap
