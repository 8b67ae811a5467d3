// How the cutter is engaged along the path: what it removes, where round it foam stands, when it enters and
// leaves.
#pragma once

#include "sim/record/record.hpp"

#include <array>
#include <optional>
#include <vector>

namespace snagmap {

constexpr int kEngagementLevels =
    4; ///< heights looked at, spread evenly over the flutes that are in the sheet
constexpr int kEngagementSectors = 64;

/// Foam round the cutter at one height, in the stock just then.
struct Immersion {
  float z_mm = 0;      ///< height, work coordinates
  float angle_rad = 0; ///< all foam round the edge, 0..2 pi; pi in a full slot
  float from_rad = 0,
        to_rad = 0;          ///< the longest arc of foam, anticlockwise from the heading; 0, 0 without foam
  std::uint64_t sectors = 0; ///< bit i: foam at (i + 1/2) / 64 of a turn, anticlockwise from +x
};

/// A piece of a move. Times of contact are shares of the whole move.
struct EngagementSample {
  std::uint32_t move = 0;
  float s0 = 0, s1 = 0;                ///< the piece
  float removed_mm3 = 0;               ///< in it
  float low_mm = 0, high_mm = 0;       ///< lowest and highest foam removed in it; equal when none
  bool enters = false, leaves = false; ///< contact begins after a piece without, ends before one without
  std::array<Immersion, kEngagementLevels> levels{}; ///< at the middle of the piece, from the tip up
};

/// The first and the last foam a move removes, as shares of it.
struct Contact {
  float first, last;
};

struct Engagement {
  std::vector<EngagementSample> samples;       ///< along the path; moves that stand still have none
  std::vector<std::uint32_t> first_sample;     ///< by move, and one more at the end
  std::vector<std::optional<Contact>> contact; ///< by move; none when nothing was removed
};

struct EngagementOptions {
  double sample_mm = 1.5; ///< longest piece
  bool immersion = true;  ///< off: only what was removed, and when
};

/// Read from the record in parallel: removed foam (removed.hpp; each part taken when the cutter
/// comes over it; on slopes by height) and immersion from the exact swept bodies of the moves done. The same
/// bits on any number of threads. `path` and `cutters` must be those the record was cut with. Cost: that of
/// the volumes, and about 64 exact point tests a level.
Engagement engagement_of(const RemovalRecord& record, const Path& path,
                         const EngagementOptions& options = {});

} // namespace snagmap
