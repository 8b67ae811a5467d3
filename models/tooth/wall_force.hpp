// What the teeth do to the wall they finish, by the chip law of bite.hpp: the mean force over a turn, and how
// it changes with a lean of the wall. Closed forms of the integrals of Altintas, Manufacturing Automation,
// ch. 2 (average forces of end milling), with chips that saturate. No cut test on foam stands behind the law.
#pragma once

#include "models/cards/cutter.hpp"
#include "models/cards/foam.hpp"

namespace snagmap {

/// The part of a turn in which a tooth is in the foam, measured from the wall's tangent point into the stock.
struct EngagedArc {
  double from_rad = 0, to_rad = 0;
};

/// Teeth at one height of a wall. Lengths mm, forces N, angles rad.
struct ToothCut {
  double radius_mm = 0;
  double feed_mm = 0; ///< a tooth
  EngagedArc arc;     ///< a finish cut: 0 to the engaged angle; pi in a slot
  int flutes = 1;
  bool climb = false;
  double severing_MPa = 0;   ///< edge force over chip, N for each mm of edge and mm of chip
  double saturated_N_mm = 0; ///< edge force past which a thicker chip adds none; 0: it never saturates
  double thrust = 0;         ///< radial over tangential force; + pushes the wall off
};

/// Mean over a turn, across the wall, + toward the cutter.
struct WallForce {
  double q_N_mm = 0; ///< of each mm of flute
  /// Its change for each mm that the wall leans toward the cutter and widens the cut: what the bite constant
  /// k_s of the snag number stands for. None in a full slot, where no more edge comes into the cut.
  double slope_MPa = 0;
  /// Its change for each mm that the wall stands nearer than it did at the last tooth.
  double regenerative_MPa = 0;
};
WallForce mean_wall_force(const ToothCut& cut);

/// The same two rates of a single tooth between two angles, as integrals over the angle, MPa rad: what the
/// periodic system is made of. Angles in any order and of any turn.
double regenerative_over(const ToothCut& cut, double from_rad, double to_rad);
double widening_over(const ToothCut& cut, double from_rad, double to_rad);

/// Tangential force on each mm of edge for a chip, N/mm: follows the chip, then stays.
double edge_force_N_mm(const ToothCut& cut, double chip_mm);

/// Friction of foam on a carbide edge, from memory: polyethylene 0.3 to 0.5, polyurethane 0.6 to 1.2.
Banded edge_friction();

/// Dynamic over static modulus at 10 to 1,000 Hz. Books find the modulus of elastomeric foams almost
/// independent of rate (Gibson and Ashby 1997, ch. 6), remembered ratios are 1.5 to 3: both are in the band.
Banded dynamic_ratio();

/// Sets what cutter and foam say of a cut: flutes, severing work and saturated force (less for the helix that
/// slices, as in cut_force), thrust by rake and friction.
ToothCut tooth_cut(const CutterCard& cutter, double severing_MPa, double saturated_N_mm, double friction);

} // namespace snagmap
