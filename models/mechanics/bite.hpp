// Cutting force on soft foam: the two-regime rule and its parts along, across and up. A hypothesis without a
// cut test behind it; every result is known within a factor of about six.
#pragma once

#include "models/cards/cutter.hpp"
#include "models/cards/foam.hpp"

namespace snagmap {

/// Share of the straight push's force when the edge also slides along itself, xi = v_along/v_across
/// (Atkins, Xu and Jeronimidis 2004, J. Mater. Sci. 39, 2761): across 1/(1 + xi^2), along xi/(1 + xi^2).
struct SlicePush {
  double across = 1, along = 0;
};
SlicePush slice_push(double xi);

/// The cut at one moment.
struct Cut {
  double chip_mm = 0;     ///< chip thickness, instantaneous or mean; infinite: as thick as the force asks for
  double engaged_rad = 0; ///< engaged angle from the wall's tangent point
  double depth_mm = 0;    ///< of flutes in the foam
};

/// Mean forces of the whole cutter over a turn, N. Which way they push a wall:
/// models/mechanics/wall_side.hpp.
struct CutForce {
  double edge_N_mm = 0;    ///< tangential, per mm of engaged edge
  double tangential_N = 0; ///< mean over a turn
  double lift_N = 0;       ///< mean along the axis; + lifts the foam (up-cut)
};

enum class BandEnd { low, nominal, high }; ///< which end of the card's ranges

/// Edge force = k_f min(saturated force, u_v chip)/(1 + xi^2): under one cell of chip each strut is cut about
/// once, so the force follows the chip; above, it saturates at a steady tear. xi = tan(helix). k_f is 1: the
/// card's range is meant to cover friction, wear and rate together.
CutForce cut_force(const Cut& cut, const CutterCard& cutter, const FoamCard& foam,
                   BandEnd end = BandEnd::nominal);

} // namespace snagmap
