#include "viz/words/stop_words.hpp"

#include "sim/checks/job_checks.hpp"
#include "viz/words/finding_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

namespace snagmap {
namespace {

constexpr std::size_t kPlacesTold = 3;

std::string plural(std::size_t count, const char* noun) {
  return fmt::format("{} {}{}", count, noun, count == 1 ? "" : "s");
}

std::string place_words(Vec3 at, int digits, const Shown& shown) {
  return fmt::format("X {}, Y {}, Z {}", shown.length(at.x, digits), shown.length(at.y, digits),
                     shown.length(at.z, digits));
}
std::string plan_place(Vec3 at, const Shown& shown) {
  return fmt::format("X {}, Y {}", shown.length(at.x, 0), shown.length(at.y, 0));
}

std::string minutes_text(double s) {
  return std::fmod(s, 60) == 0 ? fmt::format("{:g} min", s / 60) : fmt::format("{:g} s", s);
}

/// "line 12", or "lines 12, 40 and 5 more".
std::string lines_of(const std::vector<const RiskEvent*>& events) {
  std::set<std::int32_t> lines;
  for (const RiskEvent* event : events)
    lines.insert(event->line);
  std::string text = lines.size() == 1 ? "line" : "lines";
  std::size_t told = 0;
  for (const std::int32_t line : lines) {
    if (told == kPlacesTold)
      return text + fmt::format(" and {} more", lines.size() - told);
    text += fmt::format("{} {}", told++ ? "," : "", line);
  }
  return text;
}

/// Of events of one kind the one with the most of a value.
template <class Kind>
const RiskEvent& most(const std::vector<const RiskEvent*>& events, double Kind::*value) {
  return **std::max_element(events.begin(), events.end(), [&](const RiskEvent* a, const RiskEvent* b) {
    return std::get<Kind>(a->what).*value < std::get<Kind>(b->what).*value;
  });
}

std::string look_for(RiskKind kind, const std::vector<const RiskEvent*>& events, const Shown& shown) {
  switch (kind) {
  case RiskKind::strand: {
    const RiskEvent& longest = most(events, &risk::Strand::length_mm);
    return fmt::format("{} on the cutter, in the flutes and in the pocket (the longest from {} of cut, {})",
                       plural(events.size(), "long strand"),
                       shown.length(std::get<risk::Strand>(longest.what).length_mm, 0), lines_of({&longest}));
  }
  case RiskKind::loose_piece: {
    const RiskEvent& largest = most(events, &risk::LoosePiece::volume_mm3);
    return fmt::format("{} to take out ({}; the largest {}, at {})", plural(events.size(), "loose piece"),
                       lines_of(events), shown.volume(std::get<risk::LoosePiece>(largest.what).volume_mm3, 2),
                       plan_place(largest.place_mm, shown));
  }
  case RiskKind::spot: {
    std::set<int> webs;
    for (const RiskEvent* event : events)
      webs.insert(std::get<risk::Snag>(event->what).web);
    const RiskEvent& worst = most(events, &risk::Snag::s);
    return fmt::format("{} torn or bitten (the worst S {} at {}, {})", plural(webs.size(), "web"),
                       snag_text(std::get<risk::Snag>(worst.what).s), plan_place(worst.place_mm, shown),
                       lines_of({&worst}));
  }
  case RiskKind::weak_hold:
    return fmt::format("the sheet shifted or an edge lifted ({})", lines_of(events));
  case RiskKind::rubbing:
    return fmt::format("foam melted, smouldering or glowing where the cutter rubbed ({})", lines_of(events));
  }
  return "";
}

struct SayRisk {
  const Shown& shown;
  std::string operator()(const risk::Strand& r) const {
    return fmt::format("{} of {} without a break since line {}", shown.length(r.length_mm, 0),
                       r.slot ? "slot" : "cut", r.since_line);
  }
  std::string operator()(const risk::LoosePiece& r) const {
    return fmt::format("a piece of {} {}{}", shown.volume(r.volume_mm3, 2),
                       r.on_skin ? "hangs on a skin" : "comes free",
                       r.beside_s > 0 ? fmt::format(", {:.1f} s beside the cutter", r.beside_s) : "");
  }
  std::string operator()(const risk::WeakHold& r) const {
    return fmt::format("hold {:.2g} times the pull ({:.2g} to {:.2g}){}", r.nominal, r.low, r.high,
                       r.snag ? " in a snag" : "");
  }
  std::string operator()(const risk::Snag& r) const {
    return fmt::format("web {}: S {}{}", r.web, snag_text(r.s), r.only_band ? ", its band reaches 1" : "");
  }
  std::string operator()(const risk::Rubbing& r) const { return words_of(r.found, shown); }
};

} // namespace

std::string words_of(const Risk& risk, const Shown& shown) {
  return std::visit(SayRisk{shown}, risk);
}

std::string what_to_look_for(const RiskTimeline& timeline, const std::vector<std::size_t>& events,
                             const Shown& shown) {
  std::string text;
  for (const RiskKind kind :
       {RiskKind::loose_piece, RiskKind::strand, RiskKind::spot, RiskKind::weak_hold, RiskKind::rubbing}) {
    std::vector<const RiskEvent*> of_kind;
    for (const std::size_t n : events)
      if (timeline.events[n].kind() == kind)
        of_kind.push_back(&timeline.events[n]);
    if (!of_kind.empty())
      text += (text.empty() ? "" : "; ") + look_for(kind, of_kind, shown);
  }
  return text;
}

std::string stops_summary(const RiskTimeline& timeline, const Shown& shown) {
  if (timeline.stops.empty() && timeline.at_end.empty())
    return "";
  const std::size_t added = timeline.added(), given = timeline.stops.size() - added;
  std::string text = added == 0 ? std::string("no stop to put in") : plural(added, "stop") + " to put in";
  if (given > 0)
    text += fmt::format(", {} of the program's own", given);
  const std::string kept = fmt::format(
      "a strand from over {} of cut without a break ({} in a slot), a torn web or a lifted sheet is seen {}",
      shown.short_length(timeline.limits.strand_mm),
      shown.short_length(kSlotShortens * timeline.limits.strand_mm),
      timeline.limits.within_s > 0 ? "within " + minutes_text(timeline.limits.within_s) + " of program time"
                                   : std::string("at once"));
  text += timeline.stops.empty() ? ": " + kept : fmt::format(", the fewest so that {}", kept);
  if (!timeline.at_end.empty())
    text += "; the rest at the program's end";
  return text;
}

std::string stop_place(const RiskStop& stop, const Shown& shown) {
  const std::string at = place_words(stop.tip_mm, 1, shown);
  if (stop.given)
    return fmt::format("the program's own stop in line {}, at {}", stop.line, at);
  return stop.lifted ? fmt::format("in line {}, at {} in the cut", stop.line, at)
                     : fmt::format("before line {}, at {} out of the foam", stop.line, at);
}

const char* stop_caution() {
  return "Hands stay away until the spindle stands still: off is not standstill, and a strand winds in "
         "faster "
         "than a hand lets go. Never touch, brush or pull a strand off a turning cutter. Edges cut at rest "
         "too: "
         "clear with a hook or pliers. A stop changes nothing in the cut, it only lets you see.";
}

namespace {

std::vector<std::string> steps(const std::string& lift, const std::string& look, const std::string& start,
                               const std::string& back) {
  return {lift,
          "spindle off (M5), program stop (M0)",
          "wait until the spindle stands still",
          look,
          "clear strands off cutter, flutes and nut, take loose pieces and scrap out of the cutter's way",
          start,
          back};
}

std::string start_words(const std::string& spindle, double run_up_s) {
  return fmt::format("hands and tools out, guard shut; go on: spindle on ({}){}", spindle,
                     run_up_s > 0 ? fmt::format(" and {:g} s of run-up", run_up_s) : "");
}

} // namespace

std::vector<std::string> stop_steps(const RiskTimeline& timeline, const Shown& shown) {
  return steps(
      "lift clear, to Z" + shown.short_length(timeline.clear_mm),
      "look for what the list names; a torn web, a shifted sheet or a smell of burning ends the job here",
      start_words("M3 or M4, as before", timeline.run_up_s), "back to the place left, at the plunge feed");
}

std::vector<std::string> stop_steps(const RiskTimeline& timeline, const RiskStop& stop, const Shown& shown) {
  const double up = std::max(timeline.clear_mm, stop.tip_mm.z);
  std::string spindle = "it was off";
  if (stop.spindle_rpm != 0)
    spindle = fmt::format("S{:g} {}", std::abs(stop.spindle_rpm), stop.spindle_rpm > 0 ? "M3" : "M4");
  return steps("lift clear, to Z" + shown.short_length(up),
               "look for " + what_to_look_for(timeline, stop.events, shown),
               start_words(spindle, timeline.run_up_s),
               fmt::format("back to {}{}, and on in line {}", place_words(stop.tip_mm, 3, shown),
                           stop.lifted ? " at the plunge feed" : "", stop.line));
}

std::vector<std::string> stops_program_head(const Preview& preview) {
  const Shown shown{preview.scene.show_inch};
  const RiskTimeline& timeline = preview.checks->timeline;
  std::vector<std::string> lines{
      preview.scene.title, "stops put in by snagmap: " + stops_summary(timeline, shown), stop_caution()};
  std::size_t n = 0;
  for (const std::string& step : stop_steps(timeline, shown))
    lines.push_back(fmt::format("at each stop, {}: {}", ++n, step));
  n = 0;
  for (const RiskStop& stop : timeline.stops)
    lines.push_back(fmt::format("stop {}, {}: look for {}", ++n, stop_place(stop, shown),
                                what_to_look_for(timeline, stop.events, shown)));
  if (!timeline.at_end.empty())
    lines.push_back("at the end look for " + what_to_look_for(timeline, timeline.at_end, shown));
  lines.push_back("lines are those of the program without the stops");
  lines.push_back("a prediction, not a promise: preview this program and run it in air before it meets foam");
  return lines;
}

} // namespace snagmap
