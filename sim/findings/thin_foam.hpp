// Foam too thin to judge: what the cutter bites through instead of drawing it in. Said once, with place and
// line.
#pragma once

#include "sim/findings/finding.hpp"
#include "sim/motion/motion.hpp"
#include "sim/path/path.hpp"
#include "sim/record/record.hpp"
#include "sim/watch/sampling.hpp"
#include "sim/watch/watch.hpp"

#include <optional>
#include <vector>

namespace snagmap {

/// Foam beside the path that is no thicker than one bite, or a crumb: no web, but a source of fuzz and
/// strands.
struct ThinFoam {
  Vec3 place_mm; ///< on its face, at its foot
  double w_mm = 0, h_mm = 0;
  std::uint32_t move = 0;
  double time_s = 0;
  bool stays = false; ///< still stands after the last move
};

/// Sightings gathered into places: those within a few millimetres of each other are one, told where it is
/// thinnest.
std::vector<ThinFoam> find_thin_foam(std::vector<WallSeen> seen, const std::vector<Sample>& samples,
                                     const RemovalRecord& record, const Path& path, const Motion& motion);

/// One finding for the whole job; none without thin foam. It never stops a job: it is no statement about S.
std::optional<Finding> thin_foam_finding(const std::vector<ThinFoam>& places, const Path& path);

} // namespace snagmap
