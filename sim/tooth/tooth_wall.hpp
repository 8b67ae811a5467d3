// The wall of a spot as its modes are solved, from the bricks that give its compliance.
#pragma once

#include "sim/tooth/modes.hpp"
#include "sim/verify/solved_wall.hpp"

#include <string>
#include <vector>

namespace snagmap {

/// A spot's wall as its modes are solved; walls of one key have the same ones.
struct ToothWall {
  StandardWall wall;
  std::vector<double> layer_t_mm3; ///< density of full foam in each layer of bricks
  std::vector<double> layer_E_MPa; ///< and its modulus
  std::string key;
};

OrUnsolved<ToothWall> wall_at(const JudgedJob& job, const Spot& spot);

/// The lowest modes that smooth loads on the contact excite.
OrUnsolved<BoxModes> modes_of(const ToothWall& from);

/// Stiffened or softened alike so that their static compliance gives the spot's own Gamma: one web, one
/// compliance, whatever mesh or formula its S came from.
std::vector<WebMode> scaled(std::vector<WebMode> modes, const Spot& spot, double E_MPa);

} // namespace snagmap
