// Peers on a sample of the moves: level sets, and an accessor for each voxel.
#pragma once

#include "jobs.hpp"

namespace snagmap::bench {

/// Moves a second of csgDifference: for each move a narrow-band level set of its sweep, taken off the stock.
double csg_moves_per_s(const Job& job, double voxel, std::size_t sample);
/// Moves a second when every voxel in reach of a move is asked and switched through an accessor.
double accessor_moves_per_s(const Job& job, double voxel, std::size_t sample);

} // namespace snagmap::bench
