#include "sim/checks/timeline.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <tuple>

namespace snagmap {
namespace {

constexpr std::size_t kLinesTold = 12;

void add_spots(const std::vector<Spot>& spots, std::vector<RiskEvent>& out) {
  for (const Spot& spot : spots) {
    const bool band = spot.s() < 1 && spot.answer.s_high >= 1;
    if (spot.s() < 1 && !band)
      continue;
    out.push_back(
        {RiskKind::spot, spot.time_s, spot.program_line, spot.place_mm,
         fmt::format("web {}: S {}{}", spot.web, snag_text(spot.s()), band ? ", its band reaches 1" : "")});
  }
}

void add_strands(const Strands& strands, std::vector<RiskEvent>& out) {
  for (const std::size_t n : strands.longest) {
    const StrandRun& run = strands.runs[n];
    if (run.risk == StrandRisk::low)
      continue;
    // The strand grows with the run: what a stop should come before is the place where it gets too long.
    RiskEvent event{RiskKind::strand, run.from_time_s, run.from_line, run.from_mm, ""};
    const auto first = std::find_if(strands.breaks.begin(), strands.breaks.end(),
                                    [&](const StrandBreak& b) { return b.run == n; });
    if (first != strands.breaks.end())
      event = {RiskKind::strand, first->time_s, first->line, first->tip_mm, ""};
    event.words = fmt::format("{:.0f} mm of {} without a break since line {}", run.length_mm,
                              run.slot ? "slot" : "cut", run.from_line);
    out.push_back(event);
  }
}

void add_pieces(const LoosePieces& loose, std::vector<RiskEvent>& out) {
  for (const LoosePiece& piece : loose.pieces)
    out.push_back(
        {RiskKind::loose_piece, piece.time_s, piece.line, piece.centre_mm,
         fmt::format("a piece of {:.2f} cm3 {}{}", 1e-3 * piece.volume_mm3,
                     piece.on_skin ? "hangs on a skin" : "comes free",
                     piece.beside_s > 0 ? fmt::format(", {:.1f} s beside the cutter", piece.beside_s) : "")});
}

void add_holds(const HoldCheck& hold, std::vector<RiskEvent>& out) {
  for (const HoldMoment& moment : hold.worst)
    if (moment.safety.low <= 1)
      out.push_back({RiskKind::weak_hold, moment.time_s, moment.line, moment.tip_mm,
                     fmt::format("hold {:.2g} times the pull ({:.2g} to {:.2g}){}", moment.safety.nominal,
                                 moment.safety.low, moment.safety.high,
                                 moment.hold_case == HoldCase::snag ? " in a snag" : "")});
}

void add_rubs(const std::vector<Finding>& findings, std::vector<RiskEvent>& out) {
  for (const Finding& finding : findings)
    if ((finding.kind == "neck-rubs" || finding.kind == "shank-rubs" || finding.kind == "neck-rub") &&
        finding.time_s && finding.place_mm)
      out.push_back(
          {RiskKind::rubbing, *finding.time_s, finding.program_line, *finding.place_mm, finding.words});
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

RiskTimeline risk_timeline(const std::vector<Spot>& spots, const Strands& strands, const LoosePieces& loose,
                           const HoldCheck& hold, const std::vector<Finding>& findings) {
  RiskTimeline timeline;
  add_spots(spots, timeline.events);
  add_strands(strands, timeline.events);
  add_pieces(loose, timeline.events);
  add_holds(hold, timeline.events);
  add_rubs(findings, timeline.events);
  std::stable_sort(timeline.events.begin(), timeline.events.end(),
                   [](const RiskEvent& a, const RiskEvent& b) {
                     return std::tie(a.time_s, a.kind, a.line) < std::tie(b.time_s, b.kind, b.line);
                   });
  std::map<std::int32_t, std::size_t> by_line;
  for (std::size_t n = 0; n < timeline.events.size(); ++n) {
    const RiskEvent& event = timeline.events[n];
    if (event.line <= 0)
      continue;
    const auto [at, fresh] = by_line.emplace(event.line, timeline.stops.size());
    if (fresh)
      timeline.stops.push_back({event.line, event.time_s, {}});
    timeline.stops[at->second].events.push_back(n);
  }
  return timeline;
}

std::vector<Finding> timeline_findings(const RiskTimeline& timeline) {
  if (timeline.stops.empty())
    return {};
  Finding finding;
  finding.kind = "stops";
  finding.program_line = timeline.stops.front().line;
  finding.time_s = timeline.stops.front().time_s;
  finding.place_mm = timeline.events[timeline.stops.front().events.front()].place_mm;
  finding.words = "insert a stop before line";
  for (std::size_t n = 0; n < std::min(kLinesTold, timeline.stops.size()); ++n)
    finding.words += fmt::format("{} {}", n ? "," : "", timeline.stops[n].line);
  if (timeline.stops.size() > kLinesTold)
    finding.words += fmt::format(" and {} more", timeline.stops.size() - kLinesTold);
  finding.words += ": stand by, look for strands and loose pieces with the spindle at rest";
  return {finding};
}

} // namespace snagmap
