// A cutter that is no cylinder on its way down or up a helix: its heights over a place.
#pragma once

#include "sim/swept/swept.hpp"

namespace snagmap {

/// As heights_over, for an arc that rises or falls and a part that is no cylinder; heights to 1e-4 mm, as
/// volumes want them. `s` of each is such that 2 s - s0 is where the height it goes towards is reached.
void helix_heights(const Sweep& sweep, const Sweeps& sweeps, const BodyPart& part, Vec2 p, HeightsList& out);

} // namespace snagmap
