// A web under the teeth, linear: the periodic system with a memory of one tooth, and the greatest multiplier
// of its motions from tooth to tooth.
//
//   x'' + 2 zeta w x' + w^2 x = F^T dz [k(t) u(t) + h(t) (u(t) - u(t - tau))],   u = F x
//
// x modes of the web, u its lean toward the cutter at each slice, k what a wider cut adds, h the chip's
// memory (wall_force.hpp), tau the time from tooth to tooth. Solved by semi-discretization (Insperger and
// Stepan, Int. J. Numer. Meth. Engng 55 (2002) 503; 61 (2004) 117): the coefficients' exact means over short
// intervals, the delayed lean the mean of an interval's two ends.
#pragma once

#include "models/tooth/wall_force.hpp"

#include <vector>

namespace snagmap {

/// Lean of the web for a mode, mass-normalised: mm for each root of a tonne times mm (N s2/mm = 1 t).
struct WebMode {
  double omega_rad_s = 0;
  std::vector<double> shape; ///< at each slice
};

struct ToothSlice {
  double height_mm = 0; ///< over the tip, for the helix
  double dz_mm = 0;
  ToothCut cut;      ///< all slices have the same flutes and side
  double gap_mm = 0; ///< of the wall off the flutes: over 0 they do not reach it
};

struct ToothedWeb {
  std::vector<WebMode> modes;
  std::vector<ToothSlice> slices;
  double loss_factor = 0;  ///< of each mode: twice its damping ratio
  double helix_rad = 0;    ///< + : what is higher up of an edge comes later
  double tooth_time_s = 0; ///< from tooth to tooth
  bool widens = true;      ///< does a lean widen the cut? false: the textbook's fixed arc
};

struct MultiplierOptions {
  int intervals = 0;       ///< of a tooth's time; 0: as many as the system asks for
  bool averaged = false;   ///< k and h by their means: the zero-order average (Altintas and Budak 1995)
  double force_factor = 1; ///< on all tooth forces
};

struct Multiplier {
  double magnitude = 0; ///< of the greatest multiplier from tooth to tooth; past 1 the motion grows
  double angle_rad = 0; ///< of it, 0 to pi: 0 grows on one side, pi from side to side every tooth
  double residual = 0;  ///< of the eigenvalue, relative
};
Multiplier multiplier(const ToothedWeb& web, const MultiplierOptions& options = {});

/// The least factor on all tooth forces at which the motion stands at the edge: 1 over it is how far the cut
/// is over the edge, as S is for the steady pull. Looked for from `least` to `most` in steps of `step`, then
/// closed in on to 1e-3. An island of growth narrower than a step may be missed.
struct ToothEdge {
  bool found = false; ///< false: dies out at every factor up to `most`
  double factor = 0;  ///< `least` where it grows there already
  Multiplier there;   ///< a little past the edge
};
ToothEdge tooth_edge(const ToothedWeb& web, double least = 1e-2, double most = 1e2, double step = 1.5);

/// Loop gain of the widening alone, slopes by their means: the greatest eigenvalue of slope times compliance
/// of the modes. At 1 the wall is drawn in without any vibration.
double static_gain(const ToothedWeb& web);

} // namespace snagmap
