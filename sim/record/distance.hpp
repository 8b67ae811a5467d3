// Signed distance to the stock's surface at a moment, for level sets.
#pragma once

#include "sim/record/data.hpp"

namespace snagmap {

/// Distance of p to the surface of the stock of t, mm, negative in foam: the distance of the sheet less the
/// distances of all sweeps done. Right to the sign everywhere and exact near a single wall; from the air side of an
/// inner corner it is a lower bound, as for any union of bodies. Only sweeps within `reach_mm` are asked.
double foam_distance(const RecordData& data, Vec3 p, Moment t, double reach_mm);

} // namespace snagmap
