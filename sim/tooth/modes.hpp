// The modes in which a web swings under its cutter, from the bricks that give its compliance.
#pragma once

#include "models/tooth/toothed_web.hpp"
#include "sim/solid/solid.hpp"

#include <vector>

namespace snagmap {

/// A load or a reading spread over nodes, along one axis.
struct SpreadLoad {
  struct Part {
    std::size_t node = 0;
    int axis = 0;
    double share = 0;
  };
  std::vector<Part> parts;
};

struct ModeOptions {
  int rounds = 3;          ///< solves, each with a right-hand side for each load
  double tolerance = 1e-6; ///< of each solve
};

struct BoxModes {
  std::vector<WebMode> modes; ///< lowest first; shapes: mean displacement of each reading
  int unknowns = 0;
  double residual = 0; ///< of the solves, the largest
};

/// Modes that the loads can excite, by load-dependent Ritz vectors (Wilson, Yuan and Dickens, Earthquake Eng.
/// Struct. Dyn. 10 (1982) 813): the static answers to the loads, then again and again the answers to their
/// own inertia. The static compliance between the loads is exact, which a cut-off series of free modes is
/// not; the lowest frequencies converge as in inverse iteration. Mass lumped at the corners, `density_t_mm3`
/// of each brick; modulus 0 counts as no brick. Fault when a solve fails.
Outcome<BoxModes> box_modes(const BrickBox& box, const std::vector<double>& density_t_mm3,
                            const std::vector<SpreadLoad>& loads, const std::vector<SpreadLoad>& readings,
                            const ModeOptions& options = {});

} // namespace snagmap
