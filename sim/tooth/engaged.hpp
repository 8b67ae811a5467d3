// How much of a turn the teeth cut, slice by slice of a spot's contact.
#pragma once

#include "sim/judge/judged_job.hpp"

#include <vector>

namespace snagmap {

/// Height of a slice, and the place of its middle, mm.
double slice_mm(const SnagQuestion& q);
double slice_z_mm(const Spot& spot, int slice);

/// The engaged arc at each slice of a spot's contact, from the foam that stands round the cutter just then.
std::vector<double> engaged_at(const JudgedJob& job, const Spot& spot);

} // namespace snagmap
