#include "sim/checks/strands.hpp"

#include "models/base/constants.hpp"
#include "models/mechanics/engagement.hpp"

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

constexpr double kSameWay_mm = 1;
constexpr double kSlotShare = 0.98; // a cut this much of the diameter wide leaves at zero thickness: a slot

/// Path positions of the moves that retract the tip.
std::vector<double> retracts_mm(const CutTrace& trace, const Path& path) {
  std::vector<double> at;
  for (std::size_t m = 0; m < path.moves.size(); ++m) {
    const Move& move = path.moves[m];
    const bool upright = norm(xy(move.to) - xy(move.from)) < 1e-6 && move.kind != MoveKind::arc;
    if (upright && move.to.z > move.from.z)
      at.push_back(trace.move_mm[m]);
  }
  return at;
}

/// Does the path leave the foam between these two steps?
bool exits(const CutStep& step, const CutStep& next, const std::vector<double>& retracts, const Path& path,
           const Motion& motion) {
  const double gap = next.from_mm - step.to_mm;
  const double feed_mm_min = 60 * motion_at(path, motion, next.move, next.from_s).speed_mm_s;
  const double exit = exit_gap_mm(feed_mm_min, std::abs(path.moves[next.move].spindle_rpm), kTraceGap_mm);
  if (gap >= exit)
    return true;
  const auto retract = std::lower_bound(retracts.begin(), retracts.end(), step.to_mm - 1e-9);
  return retract != retracts.end() && *retract <= next.from_mm && next.move > step.move;
}

/// Radial width of the cut that half of the run's volume does not exceed: ends, where the disc enters and
/// leaves, are narrower and would pull a mean down.
double typical_width_mm(const CutStep* first, const CutStep* last, double diameter_mm) {
  std::vector<std::pair<double, double>> widths; // width, volume
  for (const CutStep* step = first; step != last; ++step) {
    if (step + 1 == last && step != first)
      break; // how far the last step reaches is not known well
    const double length = step + 1 == last ? step->to_mm - step->from_mm : step[1].from_mm - step->from_mm;
    widths.push_back({std::min(diameter_mm, step->volume_mm3 / (std::max(length, 1e-9) * step->depth_mm)),
                      step->volume_mm3});
  }
  std::sort(widths.begin(), widths.end());
  double total = 0, sum = 0;
  for (const auto& [width, volume] : widths)
    total += volume;
  for (const auto& [width, volume] : widths)
    if ((sum += volume) >= 0.5 * total)
      return width;
  return diameter_mm;
}

/// The run of steps first..last-1.
StrandRun run_of(const CutStep* first, const CutStep* last, const Path& path, const Motion& motion,
                 const Scene& scene) {
  const CutStep& end = last[-1];
  StrandRun run;
  run.from_move = first->move;
  run.to_move = end.move;
  run.from_line = path.moves[run.from_move].line;
  run.to_line = path.moves[run.to_move].line;
  run.from_time_s = motion_at(path, motion, first->move, first->from_s).time_s;
  run.to_time_s = motion_at(path, motion, end.move, end.to_s).time_s;
  run.from_mm = point_at(path.moves[first->move], first->from_s);
  run.to_mm = point_at(path.moves[end.move], end.to_s);
  run.start_mm = first->from_mm;
  run.length_mm = end.to_mm - first->from_mm;
  run.cutter = path.moves[run.from_move].tool;
  double depth = 0;
  for (const CutStep* step = first; step != last; ++step) {
    run.volume_mm3 += step->volume_mm3;
    depth += step->depth_mm * step->volume_mm3;
    const double z_mm = 0.5 * (static_cast<double>(step->low_mm) + step->high_mm);
    run.mass_g += step->volume_mm3 * 1e-6 * scene.foam_at(z_mm).density_kg_m3; // 1 kg/m3 = 1e-6 g/mm3
  }
  run.depth_mm = depth / run.volume_mm3;
  const CutterCard& cutter = scene.cutters[static_cast<std::size_t>(run.cutter)];
  run.width_mm = typical_width_mm(first, last, cutter.diameter_mm);
  run.slot = run.width_mm >= kSlotShare * cutter.diameter_mm;
  run.risk = strand_risk(run.length_mm, run.slot);
  run.engaged_rad = engaged_angle_rad(cutter.diameter_mm, run.width_mm);
  run.neck_room_mm3 = neck_room_mm3(cutter.diameter_mm, cutter.neck_diameter_mm, cutter.neck_length_mm);
  const double rpm = std::abs(path.moves[run.from_move].spindle_rpm),
               spent_s = run.to_time_s - run.from_time_s;
  if (rpm > 0 && spent_s > 0) {
    run.chip_mm = chip_per_tooth_mm(60 * run.length_mm / spent_s, rpm, cutter.flutes);
    run.strip_mm = run.length_mm * strip_per_travel(run.engaged_rad, cutter.diameter_mm, run.chip_mm);
    run.turns_round_cutter = run.length_mm / (kPi * cutter.diameter_mm);
  }
  return run;
}

/// Do two runs take the same way, in passes at different depths?
bool same_way(const StrandRun& a, const StrandRun& b) {
  return std::abs(a.length_mm - b.length_mm) < kSameWay_mm &&
         norm(xy(a.from_mm) - xy(b.from_mm)) < kSameWay_mm && norm(xy(a.to_mm) - xy(b.to_mm)) < kSameWay_mm;
}

/// The place on the path at a path length.
StrandBreak place_of(double at_mm, std::size_t run, const CutTrace& trace, const Path& path,
                     const Motion& motion) {
  const auto after = std::upper_bound(trace.move_mm.begin(), trace.move_mm.end() - 1, at_mm);
  StrandBreak place;
  place.run = run;
  place.move = static_cast<std::uint32_t>(after - trace.move_mm.begin() - 1);
  const double length = trace.move_mm[place.move + 1] - trace.move_mm[place.move];
  place.share = length > 0 ? (at_mm - trace.move_mm[place.move]) / length : 0;
  place.line = path.moves[place.move].line;
  place.time_s = motion_at(path, motion, place.move, place.share).time_s;
  place.tip_mm = point_at(path.moves[place.move], place.share);
  return place;
}

} // namespace

Strands find_strands(const CutTrace& trace, const Path& path, const Motion& motion, const Scene& scene,
                     const StrandOptions& options) {
  Strands strands;
  const std::vector<double> retracts = retracts_mm(trace, path);
  const CutStep* const steps = trace.steps.data();
  const std::size_t count = trace.steps.size();
  for (std::size_t first = 0; first < count;) {
    std::size_t last = first + 1;
    while (last < count && !exits(steps[last - 1], steps[last], retracts, path, motion))
      ++last;
    strands.runs.push_back(run_of(steps + first, steps + last, path, motion, scene));
    first = last;
  }
  if (strands.runs.empty())
    return strands;

  std::vector<std::size_t> order(strands.runs.size());
  for (std::size_t n = 0; n < order.size(); ++n)
    order[n] = n;
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return strands.runs[a].length_mm > strands.runs[b].length_mm;
  });
  for (const StrandRun& run : strands.runs)
    strands.engaged_mm += run.length_mm;
  strands.longest_mm = strands.runs[order.front()].length_mm;
  const std::size_t rank = (95 * order.size() + 99) / 100; // nearest rank, from the shortest
  strands.p95_mm = strands.runs[order[order.size() - rank]].length_mm;
  strands.runs_a_metre =
      strands.engaged_mm > 0 ? 1000.0 * static_cast<double>(order.size()) / strands.engaged_mm : 0;

  order.resize(std::min(order.size(), options.list));
  strands.longest = order;
  for (const std::size_t n : strands.longest) {
    const StrandRun& run = strands.runs[n];
    if (run.risk == StrandRisk::low)
      continue;
    int parts = 2;
    while (strand_risk(run.length_mm / parts, run.slot) != StrandRisk::low)
      ++parts;
    for (int k = 1; k < parts; ++k)
      strands.breaks.push_back(place_of(run.start_mm + run.length_mm * k / parts, n, trace, path, motion));
  }
  return strands;
}

std::vector<Finding> strand_findings(const Strands& strands) {
  std::vector<Finding> findings;
  std::vector<char> told(strands.runs.size(), 0);
  for (const std::size_t n : strands.longest) {
    const StrandRun& run = strands.runs[n];
    if (run.risk == StrandRisk::low || told[n])
      continue;
    std::vector<std::int32_t> also;
    for (const std::size_t m : strands.longest) {
      if (m == n || told[m] || !same_way(run, strands.runs[m]))
        continue;
      told[m] = 1;
      also.push_back(strands.runs[m].from_line);
    }
    findings.push_back(
        at_moment(fact::Strand{run.length_mm, run.slot, run.to_line, run.mass_g, run.turns_round_cutter,
                               run.strip_mm, run.volume_mm3, run.neck_room_mm3, std::move(also)},
                  run.from_line, run.from_time_s, run.from_mm));
  }
  return findings;
}

} // namespace snagmap
