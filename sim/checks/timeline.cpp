#include "sim/checks/timeline.hpp"

#include "sim/path/moves.hpp"

#include "sim/checks/stops.hpp"
#include "sim/checks/way.hpp"
#include "sim/path/with_stops.hpp"

#include <algorithm>
#include <tuple>

namespace snagmap {
namespace {

constexpr double kStaysBeside_s =
    5; // a cutter that leaves a free piece sooner is gone before a stop would be
constexpr double kRounding_mm = 1e-6;

/// What the cutter has left behind stays to be seen from its moment on.
SeeTo seen_within(double time_s, double within_s) {
  return {time_s, time_s + within_s};
}

void add_spots(const std::vector<Spot>& spots, double within_s, std::vector<RiskEvent>& out) {
  for (const Spot& spot : spots) {
    if (!may_snag(spot))
      continue;
    out.push_back({risk::Snag{spot.web, spot.s(), spot.s() < 1}, spot.time_s, spot.program_line,
                   spot.place_mm, seen_within(spot.time_s, within_s)});
  }
}

double limit_mm(const StrandRun& run, const StopLimits& limits) {
  return run.slot ? kSlotShortens * limits.strand_mm : limits.strand_mm;
}

/// Runs over the limit, each where it gets too long, and of the listed ones those of raised risk.
void add_strands(const Strands& strands, const StopLimits& limits, const Path& path, const Way& way,
                 std::vector<RiskEvent>& out) {
  std::vector<char> listed(strands.runs.size(), 0);
  for (const std::size_t n : strands.longest)
    listed[n] = 1;
  for (std::size_t n = 0; n < strands.runs.size(); ++n) {
    const StrandRun& run = strands.runs[n];
    const bool over = run.length_mm > limit_mm(run, limits);
    if (!over && (!listed[n] || run.risk == StrandRisk::low))
      continue;
    RiskEvent event{risk::Strand{run.length_mm, run.slot, run.from_line},
                    run.from_time_s,
                    run.from_line,
                    run.from_mm,
                    {}};
    const auto first = std::find_if(strands.breaks.begin(), strands.breaks.end(),
                                    [&](const StrandBreak& b) { return b.run == n; });
    if (!over && first != strands.breaks.end())
      event.time_s = first->time_s, event.line = first->line, event.place_mm = first->tip_mm;
    if (over) {
      const double long_mm = run.start_mm + limit_mm(run, limits);
      const PathPlace at = way.place(long_mm);
      event.time_s = way.time_s(long_mm);
      event.line = path.moves[at.move].line;
      event.place_mm = point_at(path.moves[at.move], at.s);
      event.see_to = seen_within(event.time_s, limits.within_s);
    }
    out.push_back(std::move(event));
  }
}

void add_pieces(const LoosePieces& loose, std::vector<RiskEvent>& out) {
  for (const LoosePiece& piece : loose.pieces) {
    RiskEvent event{risk::LoosePiece{piece.volume_mm3, piece.on_skin, piece.beside_s},
                    piece.time_s,
                    piece.line,
                    piece.centre_mm,
                    {}};
    if (!piece.on_skin && piece.stays_s > kStaysBeside_s)
      event.see_to = SeeTo{piece.time_s, piece.time_s};
    else if (!piece.on_skin && piece.back_s)
      event.see_to = SeeTo{piece.time_s, *piece.back_s};
    out.push_back(std::move(event));
  }
}

void add_holds(const HoldCheck& hold, double within_s, std::vector<RiskEvent>& out) {
  for (const HoldMoment& moment : hold.worst)
    if (moment.safety.low <= 1)
      out.push_back({risk::WeakHold{moment.safety.nominal, moment.safety.low, moment.safety.high,
                                    moment.hold_case == HoldCase::snag},
                     moment.time_s, moment.line, moment.tip_mm, seen_within(moment.time_s, within_s)});
}

bool rubs(const Finding& finding) {
  const FindingKind kind = finding.kind();
  return kind == FindingKind::neck_rubs || kind == FindingKind::shank_rubs || kind == FindingKind::neck_rub;
}

void add_rubs(const std::vector<Finding>& findings, double within_s, std::vector<RiskEvent>& out) {
  for (const Finding& finding : findings)
    if (rubs(finding) && finding.time_s && finding.place_mm)
      out.push_back({risk::Rubbing{finding.what}, *finding.time_s, finding.program_line, *finding.place_mm,
                     seen_within(*finding.time_s, within_s)});
}

std::vector<GrowingStrand> growing(const Strands& strands, const StopLimits& limits, const Way& way) {
  std::vector<GrowingStrand> all;
  for (const StrandRun& run : strands.runs)
    if (run.length_mm > limit_mm(run, limits))
      all.push_back(
          {way.time_s(run.start_mm), way.time_s(run.start_mm + run.length_mm), limit_mm(run, limits)});
  return all;
}

bool stands(const Move& move) {
  return move.kind == MoveKind::dwell || move.kind == MoveKind::stop || move.kind == MoveKind::tool_change;
}

/// Moves before which the tip is over the sheet, and those at which the program stands for a person anyway.
struct StopMoves {
  std::vector<std::uint32_t> clear, given;
};
StopMoves stop_moves(const Path& path, double top_mm) {
  StopMoves found;
  for (std::size_t i = 0; i < path.moves.size(); ++i) {
    const Move& move = path.moves[i];
    if (move.kind == MoveKind::stop || move.kind == MoveKind::tool_change)
      found.given.push_back(static_cast<std::uint32_t>(i));
    else if (i > 0 && !stands(move) && move.from.z > top_mm + kRounding_mm)
      found.clear.push_back(static_cast<std::uint32_t>(i));
  }
  return found;
}

/// Of the places of one way through the air, the first of the highest: where a person would lift to.
std::uint32_t best_of_air(const Path& path, double top_mm, const std::vector<RiskEvent>& events,
                          const Motion& motion, std::uint32_t move) {
  std::uint32_t best = move;
  for (std::uint32_t i = move;
       i-- > 1 && path.moves[i].from.z > top_mm + kRounding_mm && !stands(path.moves[i]);) {
    const double at_s = motion.start_s[i];
    // Nothing may begin to be served only after the earlier place.
    if (std::any_of(events.begin(), events.end(), [&](const RiskEvent& e) {
          return e.see_to && e.see_to->from_s > at_s && e.see_to->from_s <= motion.start_s[move];
        }))
      break;
    if (path.moves[i].from.z >= path.moves[best].from.z)
      best = i;
  }
  return best;
}

StopPlaces places_of(const StopMoves& moves, const Motion& motion) {
  StopPlaces places;
  for (const std::uint32_t move : moves.clear)
    places.clear_s.push_back(motion.start_s[move]);
  for (const std::uint32_t move : moves.given)
    places.given_s.push_back(motion.start_s[move]);
  places.end_s = motion.total_s();
  return places;
}

/// A look alone is not worth a lift out of the cut: it waits for the next place out of the foam. A free piece
/// does not.
void let_looks_wait(std::vector<RiskEvent>& events, const StopPlaces& places) {
  for (RiskEvent& event : events) {
    if (!event.see_to || event.kind() == RiskKind::strand || event.kind() == RiskKind::loose_piece)
      continue;
    SeeTo& see = *event.see_to;
    const auto next = std::lower_bound(places.clear_s.begin(), places.clear_s.end(), see.from_s);
    see.by_s = std::max(see.by_s, next == places.clear_s.end() ? places.end_s : *next);
  }
}

/// What a stop must see to, strands apart, which grow.
std::vector<StopNeed> needs_of(const std::vector<RiskEvent>& events) {
  std::vector<StopNeed> needs;
  for (const RiskEvent& event : events)
    if (event.see_to && event.kind() != RiskKind::strand)
      needs.push_back({event.see_to->from_s, event.see_to->by_s});
  return needs;
}

RiskStop stop_at(const JudgedJob& job, std::size_t move, double share) {
  const Move& at = job.path.moves[move];
  RiskStop stop;
  stop.move = static_cast<std::uint32_t>(move);
  stop.share = share;
  stop.line = at.line;
  stop.time_s = motion_at(job.path, job.motion, move, share).time_s;
  stop.tip_mm = point_at(at, share);
  stop.spindle_rpm = at.spindle_rpm;
  return stop;
}
/// The program stands there anyway.
RiskStop given_stop(const JudgedJob& job, std::uint32_t move) {
  RiskStop stop = stop_at(job, move, 0);
  stop.given = true;
  return stop;
}
/// Within a cut, or before a move that is none.
RiskStop lifted_stop(const JudgedJob& job, double time_s) {
  const PathPlace at = place_at(job.path, job.motion, time_s);
  RiskStop stop = stop_at(job, at.move, is_feed(job.path.moves[at.move]) ? at.s : 0);
  stop.lifted = true;
  return stop;
}
RiskStop clear_stop(const JudgedJob& job, const StopMoves& moves, const StopPlaces& places,
                    const std::vector<RiskEvent>& events, double time_s) {
  const auto at = std::lower_bound(places.clear_s.begin(), places.clear_s.end(), time_s);
  const std::uint32_t move = moves.clear[static_cast<std::size_t>(at - places.clear_s.begin())];
  return stop_at(job, best_of_air(job.path, job.scene.sheet.high.z, events, job.motion, move), 0);
}

/// An event to the first stop that sees to it.
void see_to(RiskTimeline& timeline, std::size_t event) {
  const SeeTo& see = *timeline.events[event].see_to;
  const auto stop = std::find_if(timeline.stops.begin(), timeline.stops.end(),
                                 [&](const RiskStop& s) { return s.time_s >= see.from_s; });
  if (stop != timeline.stops.end() && stop->time_s <= see.by_s)
    stop->events.push_back(event);
  else
    timeline.at_end.push_back(event);
}

/// A strand to every stop within its cut, and the rest of it, where it is still too long, to the first after.
void see_to_strand(RiskTimeline& timeline, std::size_t event, const GrowingStrand& strand, const Way& way) {
  double from_s = strand.from_s;
  auto stop = std::find_if(timeline.stops.begin(), timeline.stops.end(),
                           [&](const RiskStop& s) { return s.time_s > strand.from_s; });
  for (; stop != timeline.stops.end() && stop->time_s < strand.to_s; ++stop) {
    stop->events.push_back(event);
    from_s = stop->time_s;
  }
  if (way.way_mm(strand.to_s) - way.way_mm(from_s) <= strand.limit_mm)
    return;
  if (stop != timeline.stops.end())
    stop->events.push_back(event);
  else
    timeline.at_end.push_back(event);
}

void add_stops(RiskTimeline& timeline, const JudgedJob& job, const Strands& strands, const Way& way) {
  // Where a stop may be, and what it must see to.
  const StopMoves moves = stop_moves(job.path, job.scene.sheet.high.z);
  const StopPlaces places = places_of(moves, job.motion);
  const std::vector<GrowingStrand> strands_over = growing(strands, timeline.limits, way);
  const WayClock clock{[&](double s) { return way.way_mm(s); }, [&](double mm) { return way.time_s(mm); }};
  let_looks_wait(timeline.events, places);

  // The program's own stops, and the fewest to add.
  for (const std::uint32_t move : moves.given)
    timeline.stops.push_back(given_stop(job, move));
  for (const PlannedStop& planned :
       plan_stops(needs_of(timeline.events), strands_over, timeline.limits.within_s, places, clock))
    timeline.stops.push_back(planned.lifted
                                 ? lifted_stop(job, planned.time_s)
                                 : clear_stop(job, moves, places, timeline.events, planned.time_s));
  std::stable_sort(timeline.stops.begin(), timeline.stops.end(),
                   [](const RiskStop& a, const RiskStop& b) { return a.time_s < b.time_s; });

  // Which stop sees to what.
  auto strand = strands_over.begin();
  for (std::size_t n = 0; n < timeline.events.size(); ++n) {
    if (!timeline.events[n].see_to)
      continue;
    if (timeline.events[n].kind() == RiskKind::strand)
      see_to_strand(timeline, n, *strand++, way); // both in the order of the path
    else
      see_to(timeline, n);
  }
  timeline.stops.erase(std::remove_if(timeline.stops.begin(), timeline.stops.end(),
                                      [](const RiskStop& s) { return s.given && s.events.empty(); }),
                       timeline.stops.end());
}

} // namespace

const char* to_text(RiskKind kind) {
  switch (kind) {
  case RiskKind::strand:
    return "strand";
  case RiskKind::loose_piece:
    return "loose piece";
  case RiskKind::weak_hold:
    return "weak hold";
  case RiskKind::spot:
    return "spot";
  case RiskKind::rubbing:
    break;
  }
  return "rubbing";
}

std::size_t RiskTimeline::added() const {
  return static_cast<std::size_t>(
      std::count_if(stops.begin(), stops.end(), [](const RiskStop& s) { return !s.given; }));
}

RiskTimeline risk_timeline(const JudgedJob& job, const Strands& strands, const LoosePieces& loose,
                           const HoldCheck& hold, const std::vector<Finding>& findings) {
  RiskTimeline timeline;
  timeline.limits = job.scene.stops;
  timeline.clear_mm = clear_height_mm(job.path, job.scene.sheet.high.z);
  timeline.run_up_s = job.scene.machine.spindle_run_up_s;
  const double within_s = timeline.limits.within_s;
  const Way way(job.path, job.motion);
  add_spots(job.spots, within_s, timeline.events);
  add_strands(strands, timeline.limits, job.path, way, timeline.events);
  add_pieces(loose, timeline.events);
  add_holds(hold, within_s, timeline.events);
  add_rubs(findings, within_s, timeline.events);
  std::stable_sort(
      timeline.events.begin(), timeline.events.end(), [](const RiskEvent& a, const RiskEvent& b) {
        return std::make_tuple(a.time_s, a.kind(), a.line) < std::make_tuple(b.time_s, b.kind(), b.line);
      });
  if (!job.path.moves.empty())
    add_stops(timeline, job, strands, way);
  return timeline;
}

} // namespace snagmap
