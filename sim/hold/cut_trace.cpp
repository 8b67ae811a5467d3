#include "sim/hold/cut_trace.hpp"

#include "sim/probe/removed.hpp"
#include "sim/threads/parallel.hpp"

#include <algorithm>
#include <tuple>

namespace snagmap {
namespace {

/// Foam over a small area leaving with a move, at shares from..to of it.
struct Taken {
  double from, to;
  double low_mm, high_mm, area_mm2;
  double volume_mm3() const { return (high_mm - low_mm) * area_mm2; }
};

/// Width of what leaves, over a part of the way of `along_mm`: its volume over that and its height.
bool is_film(const RemovedPart* first, const RemovedPart* last, double along_mm) {
  double volume = 0, low = first->low_mm, high = first->high_mm;
  for (const RemovedPart* part = first; part != last; ++part) {
    volume += part->volume_mm3();
    low = std::min(low, part->low_mm);
    high = std::max(high, part->high_mm);
  }
  return volume < kFilm_mm * along_mm * (high - low);
}

/// Appends what one sweep removes, which is shares base..base+span of its move; returns the volume of films.
/// A film is found line by line; a sweep shorter than the cutter takes a crescent, thin at its tips but as
/// wide as the cutter, and is judged whole.
double append(const std::vector<RemovedPart>& parts, double base, double span, double length_mm,
              double diameter_mm, std::vector<Taken>& out) {
  double films = 0;
  const RemovedPart* const end = parts.data() + parts.size();
  const bool by_line = length_mm >= diameter_mm;
  for (const RemovedPart* first = parts.data(); first != end;) {
    const RemovedPart* last = end;
    if (by_line)
      last = std::find_if(first, end, [&](const RemovedPart& part) { return part.line != first->line; });
    const bool film = is_film(first, last, by_line ? first->along_mm : length_mm);
    for (; first != last; ++first)
      if (film)
        films += first->volume_mm3();
      else
        out.push_back({base + span * first->from, base + span * first->to, first->low_mm, first->high_mm,
                       first->area_mm2});
  }
  return films;
}

void steps_of_move(std::vector<Taken>& events, std::uint32_t move, double length, double before,
                   double step_mm, std::vector<CutStep>& out) {
  std::sort(events.begin(), events.end(), [](const Taken& a, const Taken& b) {
    return std::tie(a.from, a.to, a.low_mm, a.high_mm, a.area_mm2) <
           std::tie(b.from, b.to, b.low_mm, b.high_mm, b.area_mm2);
  });
  double squares = 0, to = 0; // sum of height^2: the volume's own mean of the height
  const auto close = [&] {
    CutStep& step = out.back();
    step.depth_mm = squares / step.volume_mm3;
    step.to_s = static_cast<float>(to);
    step.to_mm = before + to * length;
  };
  double from = 0;
  for (const Taken& event : events) {
    const bool open =
        !out.empty() && (event.from - to) * length <= kTraceGap_mm && (event.from - from) * length <= step_mm;
    if (!open) {
      if (!out.empty())
        close();
      from = event.from;
      CutStep step;
      step.move = move;
      step.from_s = static_cast<float>(event.from);
      step.from_mm = before + event.from * length;
      step.low_mm = static_cast<float>(event.low_mm);
      step.high_mm = static_cast<float>(event.high_mm);
      out.push_back(step);
      squares = 0;
      to = event.to;
    }
    CutStep& step = out.back();
    const double height = event.high_mm - event.low_mm;
    step.volume_mm3 += event.volume_mm3();
    step.in_plan_mm2 += static_cast<float>(event.area_mm2);
    squares += height * event.volume_mm3();
    step.low_mm = std::min(step.low_mm, static_cast<float>(event.low_mm));
    step.high_mm = std::max(step.high_mm, static_cast<float>(event.high_mm));
    to = std::max(to, event.to);
  }
  if (!out.empty())
    close();
}

} // namespace

CutTrace trace_cuts(const RemovalRecord& record, const Path& path, double step_mm) {
  const RecordData& data = record.data();
  CutTrace trace;
  trace.move_mm.assign(path.moves.size() + 1, 0);
  for (std::size_t m = 0; m < path.moves.size(); ++m)
    trace.move_mm[m + 1] = trace.move_mm[m] + length_mm(path.moves[m]);

  const ChordRuns runs(data.sweeps);
  const SweepStacks stacks = stacks_of(data, runs);
  std::vector<std::vector<CutStep>> steps(path.moves.size());
  std::vector<double> films(path.moves.size(), 0), columns(path.moves.size(), 0);
  parallel_pieces(path.moves.size(), 64, [&](std::size_t first, std::size_t last) {
    RemovedBy removed(data, stacks, runs);
    std::vector<Taken> events;
    for (std::size_t m = first; m < last; ++m) {
      const auto move = static_cast<std::uint32_t>(m);
      const std::uint32_t begin = data.sweeps.count_at(move), end = data.sweeps.count_at(move + 1);
      const double length = trace.move_mm[m + 1] - trace.move_mm[m], share = 1.0 / (end - begin);
      events.clear();
      for (std::uint32_t n = begin; n < end; n = runs.end(n)) {
        const std::vector<RemovedPart>& parts = removed.sweep(n);
        const double span = (runs.end(n) - n) * share;
        if (removed.by_columns())
          for (const RemovedPart& part : parts)
            columns[m] += part.volume_mm3();
        if (!parts.empty())
          films[m] += append(parts, (n - begin) * share, span, length * span,
                             2 * data.bodies[data.sweeps[n].body].flute_radius, events);
      }
      steps_of_move(events, move, length, trace.move_mm[m], step_mm, steps[m]);
    }
  });
  for (const std::vector<CutStep>& some : steps)
    trace.steps.insert(trace.steps.end(), some.begin(), some.end());
  for (const double film : films)
    trace.films_mm3 += film;
  for (const double counted : columns)
    trace.columns_mm3 += counted;
  return trace;
}

} // namespace snagmap
