#include "sim/hold/pull.hpp"

#include "models/mechanics/bite.hpp"
#include "models/mechanics/engagement.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace snagmap {
namespace {

double radius_mm(const JudgedJob& job, std::int32_t cutter) {
  return 0.5 * job.scene.cutters[static_cast<std::size_t>(cutter)].diameter_mm;
}

/// Along the path to the next step, or to this one's end where the cutter leaves the foam in between.
double way_mm(const CutTrace& trace, std::size_t n) {
  const CutStep& step = trace.steps[n];
  const bool goes_on = n + 1 < trace.steps.size() && trace.steps[n + 1].from_mm <= step.to_mm + kTraceGap_mm;
  return std::max(1e-9, (goes_on ? trace.steps[n + 1].from_mm : step.to_mm) - step.from_mm);
}

/// What the flutes have to cut: how wide, how deep, and the chip each tooth takes.
Cut cut_of(const CutStep& step, double way_mm, const Move& move, double feed_mm_min,
           const CutterCard& cutter) {
  const double width = std::min(cutter.diameter_mm, step.volume_mm3 / (way_mm * step.depth_mm));
  const double rpm = std::abs(move.spindle_rpm);
  Cut cut;
  cut.engaged_rad = engaged_angle_rad(cutter.diameter_mm, width);
  cut.depth_mm = std::min(step.depth_mm, cutter.flute_length_mm);
  // A spindle whose speed is not known is taken to cut thick chips: the force saturates.
  cut.chip_mm = rpm > 0 ? mean_chip_mm(chip_per_tooth_mm(feed_mm_min, rpm, cutter.flutes), cut.engaged_rad)
                        : std::numeric_limits<double>::infinity();
  return cut;
}

} // namespace

Pull pull_of_cut(const JudgedJob& job, const CutTrace& trace, std::size_t n) {
  const CutStep& step = trace.steps[n];
  const Move& move = job.path.moves[step.move];
  const CutterCard& cutter = job.scene.cutters[static_cast<std::size_t>(move.tool)];
  const double middle_mm = 0.5 * (static_cast<double>(step.low_mm) + step.high_mm);
  const FoamCard& foam = job.scene.foam_at(middle_mm);
  Pull pull;
  pull.move = step.move;
  pull.line = move.line;
  pull.share = 0.5 * (step.from_s + step.to_s);
  const MotionPoint there = motion_at(job.path, job.motion, step.move, pull.share);
  pull.time_s = there.time_s;
  pull.tip_mm = pull.at_mm = point_at(move, pull.share);
  pull.cutter_radius_mm = pull.beside_mm = radius_mm(job, move.tool);
  pull.height_mm = middle_mm - job.scene.sheet.low.z;

  const Cut cut = cut_of(step, way_mm(trace, n), move, 60 * there.speed_mm_s, cutter);
  const CutForce force = cut_force(cut, cutter, foam), high = cut_force(cut, cutter, foam, BandEnd::high),
                 low = cut_force(cut, cutter, foam, BandEnd::low);
  pull.load = {force.tangential_N, force.lift_N, force.tangential_N * pull.height_mm};
  if (force.tangential_N > 0 && low.tangential_N > 0) {
    pull.up_ratio = high.tangential_N / force.tangential_N;
    pull.down_ratio = force.tangential_N / low.tangential_N;
  }
  return pull;
}

bool may_snag(const Spot& spot) {
  return !(spot.answer.s_high < 1 && spot.s() < 1);
}

Pull pull_of_snag(const JudgedJob& job, const Spot& spot) {
  const FoamCard& foam = job.scene.foam_at(spot.place_mm.z + 0.5 * spot.a_mm);
  Pull pull;
  pull.hold_case = HoldCase::snag;
  pull.expected = spot.s() >= 1;
  pull.move = spot.move;
  pull.line = spot.program_line;
  pull.share = spot.move_share;
  pull.time_s = spot.time_s;
  pull.tip_mm = spot.tip_mm;
  pull.at_mm = spot.place_mm;
  pull.cutter_radius_mm = radius_mm(job, spot.cutter);
  pull.height_mm = spot.place_mm.z - job.scene.sheet.low.z + 0.5 * spot.a_mm;
  const double hook_N = foam.Gc_N_mm.nominal * spot.a_mm;
  pull.load = {hook_N, 0, hook_N * pull.height_mm};
  pull.up_ratio = foam.Gc_N_mm.high / foam.Gc_N_mm.nominal;
  pull.down_ratio = foam.Gc_N_mm.nominal / foam.Gc_N_mm.low;
  return pull;
}

} // namespace snagmap
