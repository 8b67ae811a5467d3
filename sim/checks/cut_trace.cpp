#include "sim/checks/cut_trace.hpp"

#include "sim/record/sweep.hpp"
#include "sim/threads/parallel.hpp"

#include <algorithm>
#include <cmath>
#include <tuple>

namespace snagmap {
namespace {

constexpr double kChord_voxel = 0.1; // of a voxel: how far chords of arcs may stray

/// One column's foam leaving with a move, at shares from..to of it.
struct Taken {
  double from, to;
  float low, high;
};

void windows_of(const Sweep& sweep, const Sweeps& sweeps, double radius, Vec2 p, Windows& out) {
  out.count = 0;
  switch (sweep.kind) {
  case SweepKind::line:
    line_window(sweep, radius, p, out);
    break;
  case SweepKind::arc:
    arc_windows(sweeps.arcs[sweep.arc], radius, p, out);
    break;
  case SweepKind::upright:
    out.add(0, 1);
    break;
  case SweepKind::none:
    break;
  }
}

/// Sweeps first..last-1 are one move: whole, or its chords at equal shares.
Taken taken(const Sweeps& sweeps, std::uint32_t first, std::uint32_t last, double radius, Vec2 p,
            const FoamRun& run) {
  Windows windows;
  for (std::uint32_t n = first; n < last; ++n) {
    const Sweep sweep = sweeps[n];
    const auto whole = [&](double share) { return (n - first + share) / (last - first); };
    windows_of(sweep, sweeps, radius, p, windows);
    for (int k = 0; k < windows.count; ++k) {
      const Window& w = windows.at[static_cast<std::size_t>(k)];
      const double z0 = sweep.z_at(w.s0), z1 = sweep.z_at(w.s1);
      if (std::min(z0, z1) >= run.high_mm)
        continue; // an earlier turn of a helix, still above
      const auto share_at = [&](double z) {
        return std::clamp((z - sweep.za) / (sweep.zb - sweep.za), w.s0, w.s1);
      };
      if (!(z1 < z0))
        return {whole(w.s0), whole(w.s0), run.low_mm, run.high_mm};
      return {whole(share_at(run.high_mm)), whole(share_at(run.low_mm)), run.low_mm, run.high_mm};
    }
  }
  return {0, 0, run.low_mm, run.high_mm}; // the disc only grazes the centre: rounding decides
}

/// Runs of each move: counting sort of the grid's runs that do not stay.
struct RunsOfMoves {
  std::vector<std::uint32_t> start, run, column;
};
RunsOfMoves runs_of_moves(const RunGrid& grid) {
  RunsOfMoves of;
  of.start.assign(grid.moves + 1, 0);
  for (const FoamRun& run : grid.runs)
    if (run.move != kNever)
      ++of.start[run.move + 1];
  for (std::uint32_t m = 0; m < grid.moves; ++m)
    of.start[m + 1] += of.start[m];
  of.run.resize(of.start.back());
  of.column.resize(of.start.back());
  std::vector<std::uint32_t> at(of.start.begin(), of.start.end() - 1);
  for (std::size_t c = 0; c + 1 < grid.offset.size(); ++c)
    for (std::uint32_t n = grid.offset[c]; n < grid.offset[c + 1]; ++n) {
      if (grid.runs[n].move == kNever)
        continue;
      const std::uint32_t to = at[grid.runs[n].move]++;
      of.run[to] = n;
      of.column[to] = static_cast<std::uint32_t>(c);
    }
  return of;
}

void steps_of_move(std::vector<Taken>& events, std::uint32_t move, double length, double before,
                   double cell_mm2, double gap_mm, double step_mm, std::vector<CutStep>& out) {
  std::sort(events.begin(), events.end(), [](const Taken& a, const Taken& b) {
    return std::tie(a.from, a.to, a.low, a.high) < std::tie(b.from, b.to, b.low, b.high);
  });
  double squares = 0, to = 0; // sum of height^2: the volume's own mean of the height
  const auto close = [&] {
    CutStep& step = out.back();
    step.depth_mm = squares * cell_mm2 / step.volume_mm3;
    step.to_s = static_cast<float>(to);
    step.to_mm = before + to * length;
  };
  for (const Taken& event : events) {
    const bool open = !out.empty() && (event.from - to) * length <= gap_mm &&
                      (event.from - out.back().from_s) * length <= step_mm;
    if (!open) {
      if (!out.empty())
        close();
      CutStep step;
      step.move = move;
      step.from_s = static_cast<float>(event.from);
      step.from_mm = before + event.from * length;
      step.low_mm = event.low;
      step.high_mm = event.high;
      out.push_back(step);
      squares = 0;
      to = event.to;
    }
    CutStep& step = out.back();
    const double height = static_cast<double>(event.high) - event.low;
    step.volume_mm3 += height * cell_mm2;
    step.in_plan_mm2 += static_cast<float>(cell_mm2);
    squares += height * height;
    step.low_mm = std::min(step.low_mm, event.low);
    step.high_mm = std::max(step.high_mm, event.high);
    to = std::max(to, event.to);
  }
  if (!out.empty())
    close();
}

} // namespace

CutTrace trace_cuts(const RunGrid& grid, const Path& path, const std::vector<CutterCard>& cutters,
                    double step_mm) {
  CutTrace trace;
  trace.voxel_mm = std::max(grid.dx_mm, grid.dy_mm);
  trace.move_mm.assign(path.moves.size() + 1, 0);
  for (std::size_t m = 0; m < path.moves.size(); ++m)
    trace.move_mm[m + 1] = trace.move_mm[m] + length_mm(path.moves[m]);

  std::vector<bool> cylinder;
  for (const CutterCard& cutter : cutters)
    cylinder.push_back(cutter.tip == TipShape::flat && cutter.own_profile.empty());
  const Sweeps sweeps = sweeps_of(path, cylinder, kChord_voxel * trace.voxel_mm);
  const RunsOfMoves of = runs_of_moves(grid);
  std::vector<std::vector<CutStep>> steps(path.moves.size());
  const auto trace_move = [&](std::size_t m) {
    if (of.start[m] == of.start[m + 1])
      return;
    const double radius = 0.5 * cutters[static_cast<std::size_t>(path.moves[m].tool)].diameter_mm;
    const auto move = static_cast<std::uint32_t>(m);
    std::vector<Taken> events;
    events.reserve(of.start[m + 1] - of.start[m]);
    for (std::uint32_t n = of.start[m]; n < of.start[m + 1]; ++n)
      events.push_back(taken(sweeps, sweeps.count_at(move), sweeps.count_at(move + 1), radius,
                             grid.centre_mm(of.column[n]), grid.runs[of.run[n]]));
    steps_of_move(events, move, trace.move_mm[m + 1] - trace.move_mm[m], trace.move_mm[m], grid.cell_mm2(),
                  trace.voxel_mm, step_mm, steps[m]);
  };
  parallel_pieces(path.moves.size(), 64, [&](std::size_t first, std::size_t last) {
    for (std::size_t m = first; m < last; ++m)
      trace_move(m);
  });
  for (const std::vector<CutStep>& some : steps)
    trace.steps.insert(trace.steps.end(), some.begin(), some.end());
  return trace;
}

} // namespace snagmap
