// What two jobs have in common, so that a second one need not be worked out from the start.
#pragma once

#include "sim/scene/scene.hpp"

namespace snagmap {

/// The same ways of the same tools: what the record depends on, besides stock and cutters.
bool same_geometry(const Path& a, const Path& b);
/// The same program to the machine: ways, feeds, turns, corners.
bool same_program(const Path& a, const Path& b);
bool same_machine(const MachineCard& a, const MachineCard& b);
/// The same stock on the same columns.
bool same_stock(const Scene& a, const Scene& b);
/// Cutters that sweep the same bodies.
bool same_bodies(const std::vector<CutterCard>& a, const std::vector<CutterCard>& b);
/// The same foam, teeth and tolerances: what the judgement of a wall depends on, besides the record and the
/// motion.
bool same_judging(const Scene& a, const Scene& b);

} // namespace snagmap
