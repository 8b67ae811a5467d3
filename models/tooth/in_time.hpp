// A web under the teeth, step by step in time: teeth that leave the cut, chips that saturate, a lean that
// widens the cut by itself. The linear system of toothed_web.hpp is its limit for small motions.
#pragma once

#include "models/tooth/toothed_web.hpp"

#include <vector>

namespace snagmap {

struct ToothRun {
  double seconds = 1;
  int steps = 0;       ///< of a tooth's time; 0: as many as the web's modes ask for
  double start_mm = 0; ///< lean of the first mode's largest slice at the start
};

/// What happened, tooth by tooth.
struct ToothTrace {
  double tooth_time_s = 0;
  std::vector<double> lean_mm; ///< of the whole contact, mean over each tooth's time, + toward the cutter
  std::vector<double> most_mm, least_mm; ///< of any slice within it
  /// Where the edge stood in the wall as it passed the wall's tangent point, the wall then springs back: + is
  /// cut too deep. Of the lowest and the highest slice in the cut.
  std::vector<double> foot_cut_mm, top_cut_mm;
  std::vector<double> end_mm; ///< lean of each slice at the end
  int steps = 0;
  bool left =
      false; ///< the wall came nearer than the cutter's radius: past all that is modelled, run ended there
};

/// Modes stepped exactly between forces; forces by their means over a step (predicted and corrected once).
/// The surface that each tooth leaves is kept for each angle and slice, so that a missed cut thickens the
/// next. The arc's part of a step that it covers counts, so that a small lean counts too.
ToothTrace run_teeth(const ToothedWeb& web, const ToothRun& run);

/// Of the second half of a run: what is stated.
struct ToothSummary {
  double lean_mm = 0, swing_mm = 0;        ///< mean, and largest less least
  double over_cut_mm = 0, waviness_mm = 0; ///< at the foot: mean, and largest less least
};
ToothSummary summary_of(const ToothTrace& trace);

} // namespace snagmap
