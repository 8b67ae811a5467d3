// Which way the teeth push the wall they finish: the direction of the metal-cutting textbook (Altintas,
// Manufacturing Automation), which is not settled for foam. Told, never counted: nothing of it enters S or
// the lean.
#pragma once

#include "models/cards/cutter.hpp"

#include <array>

namespace snagmap {

/// Edge force over the arc: thin chips make it follow the chip, fz sin(phi), as in the textbook; over a cell
/// of foam thick it has saturated (see cut_force) and stays the same all along.
enum class EdgeForce { follows_chip, saturated };

/// Radial over tangential force by Merchant's geometry, tan(friction angle - rake): negative, a pull, when
/// the rake exceeds the friction angle.
double thrust_ratio(double rake_deg, double friction);

/// Mean force across the wall over a turn, + toward the cutter, for one tooth whose greatest tangential force
/// is 1. The tooth leaves a conventional wall at angle 0 and drags it along, and meets a climb wall from
/// outside.
double wall_pull(double engaged_rad, double thrust, bool climb, EdgeForce force);

/// Engaged angle past which a conventional cut pulls the wall in; 0 when it always does. On the climb side
/// the wall is pulled below this angle of -thrust. Within 1e-12 rad.
double pull_begins_rad(double thrust, EdgeForce force);

/// Both sides in radial widths of a cutter, for the friction of foam on an edge.
struct WallSides {
  bool always_draws;                 ///< a conventional cut draws its wall in at any width
  double draws_from_mm, draws_to_mm; ///< else the width from which it does, by the range of friction
  double friction_low, friction_high;
  double climb_draws_under_mm; ///< a climb cut thinner than this may draw its wall in; 0: none does
  static constexpr std::array keys{"always_draws", "draws_from_mm", "draws_to_mm",
                                   "friction_low", "friction_high", "climb_draws_under_mm"};
};
WallSides wall_sides(const CutterCard& cutter);

} // namespace snagmap
