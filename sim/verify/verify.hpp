// Verification of spots: the snag number again, from 3D finite elements on the record's own foam.
#pragma once

#include "sim/judge/judged_job.hpp"
#include "sim/verify/patch.hpp"
#include "sim/verify/solve_choice.hpp"

#include <functional>
#include <optional>

namespace snagmap {

struct VerifyOptions {
  PatchOptions patch;
  /// Unknowns of one spot's finer mesh; a patch over this falls back to 4 bricks across, and a spot that
  /// still does not fit is not verified. Counts, never seconds, so that results repeat. 3e6 is about 0.2 GB.
  double spot_cost = 3e6;
  /// The same times right-hand sides over all spots of a preview; 4e7 is about 20 s on two quiet cores.
  double total_cost = 4e7;
  /// Of the solve. The work of a load errs with the square of the solution's error, so S is far closer than
  /// this: within 0.02 % of what 5e-4 gives on 39 of the demo's webs, lean 0.2 %.
  double tolerance = 1e-2;
  /// Smooth load patterns over the contact's slices that the coarser mesh answers; kSlices: every slice, on
  /// both meshes.
  int patterns = 4;
};

/// Loads on the contact's slices give its compliance, the largest eigenvalue Gamma, and S = Lambda Gamma for
/// the band of the web's foam. Two meshes, the second with edges half as long, are extrapolated by the order
/// at which Gamma is seen to converge; what is left of the mesh's error is about 2 %. The coarser mesh
/// answers a few smooth loads, the finer one only the mode that they give; what neither asks for stays in the
/// proportions of the formula. Never throws, never changes the screening value: what fails says why in
/// `why_not`. Cost O(unknowns). Deterministic on any number of threads.
SolidCheck verify_spot(const RemovalRecord& record, const Scene& scene, const Spot& spot,
                       const VerifyOptions& options = {});

/// Could S reach the edge of 'firm' by the upper end of the band, the formula being as low as it is on shapes
/// that one thickness and one length do not describe? Of two foams the formula knows nothing.
bool could_matter(const Spot& spot);

/// How many spots were solved, by solves of how many shapes, and how many the total cost limit left out.
struct Verified {
  int verified = 0, shapes = 0, left_out = 0;
};

/// Sets `fe`, and by it the answer, of the spots chosen. None when `progress` (as in PreviewOptions) said to
/// stop: what is there then is not to be shown.
std::optional<Verified> verify_spots(JudgedJob& job, SolveChoice which, const VerifyOptions& options = {},
                                     const std::function<bool(double)>& progress = {});

} // namespace snagmap
