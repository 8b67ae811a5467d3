#include "viz/words/advice_words.hpp"

#include <fmt/format.h>

namespace snagmap {
namespace {

std::string plan_place(Vec3 at, const Shown& shown) {
  return fmt::format("X {} Y {}", shown.length(at.x, 0), shown.length(at.y, 0));
}

/// " (at X 373 mm Y 196 mm and 4 more)".
std::string places_words(const std::vector<Vec3>& places, std::size_t of, const Shown& shown) {
  std::string text;
  for (const Vec3& place : places)
    text += (text.empty() ? "" : ", ") + plan_place(place, shown);
  return of > places.size() ? fmt::format(" (at {} and {} more)", text, of - places.size())
                            : " (at " + text + ")";
}

struct SayLever {
  const Shown& shown;

  std::string difference(const lever::Cutter& l) const {
    switch (l.by) {
    case lever::Differs::flute_length:
      return fmt::format("flutes {} long instead of {}", shown.short_length(l.value),
                         shown.short_number(l.instead_of));
    case lever::Differs::helix:
      return fmt::format("helix {:g} degrees instead of {:g}", l.value, l.instead_of);
    case lever::Differs::flutes:
      return fmt::format("{:g} flutes instead of {:g}", l.value, l.instead_of);
    case lever::Differs::neck:
      return fmt::format("neck {} instead of {}", shown.short_length(l.value),
                         shown.short_number(l.instead_of));
    case lever::Differs::tip:
      break;
    }
    return "another tip";
  }
  std::string operator()(const lever::Cutter& l) const {
    return fmt::format("use the cutter {} from the drawer ({}) with the same program", l.name, difference(l));
  }
  std::string operator()(const lever::PassDepth& l) const {
    return fmt::format("cut passes no deeper than {} instead of {}", shown.rounded_length(l.pass_mm),
                       shown.rounded_length(l.now_mm));
  }
  std::string operator()(const lever::Order& l) const {
    return fmt::format("finish the wall of web {} (line {}) before the pocket behind it is opened (line {})",
                       l.web, l.line, l.pocket_line);
  }
  std::string operator()(const lever::LightFinish&) const {
    return "leave the last loop of each pass standing and take it off lightly when the pocket is deep";
  }
  std::string operator()(const lever::Climb& l) const {
    return fmt::format("run the loops the other way round ({} instead of {} at the worst web): {}",
                       l.climb_now ? "conventional" : "climb", l.climb_now ? "climb" : "conventional",
                       wall_side_words(l.sides, shown));
  }
  std::string operator()(const lever::WiderWebs& l) const {
    std::string words;
    for (const lever::WiderWeb& one : l.webs)
      words += fmt::format("{}web {} at X{} Y{} {} thick instead of {}{}", words.empty() ? "make " : ", ",
                           one.web, shown.number(one.place_mm.x, 0), shown.number(one.place_mm.y, 0),
                           shown.length(one.w_mm, 1), shown.number(one.now_mm, 1),
                           one.whole_band_mm > 0 ? fmt::format(" ({} clears the whole band)",
                                                               shown.number(one.whole_band_mm, 1))
                                                 : "");
    return l.more > 0 ? words + fmt::format(" and {} more webs", l.more) : words;
  }
  std::string operator()(const lever::Foam& l) const { return fmt::format("take {} ({})", l.name, l.title); }
  std::string operator()(const lever::Feed& l) const {
    return fmt::format("{} feed: {:g} % of the program's", l.factor < 1 ? "a slower" : "a faster",
                       100 * l.factor);
  }
  std::string operator()(const lever::Lift& l) const {
    return fmt::format("lift the cutter over the sheet {} time{} within {} long run{} (first at line {})",
                       l.times, l.times == 1 ? "" : "s", l.runs, l.runs == 1 ? "" : "s", l.first_line);
  }
  std::string operator()(const lever::Holes& l) const {
    return fmt::format("plunge {} break-hole{} before the long runs are cut (first for line {})", l.holes,
                       l.holes == 1 ? "" : "s", l.first_line);
  }
  std::string operator()(const lever::CrossCuts&) const {
    return "cut slots across the long runs before the pocket is cleared";
  }
  std::string operator()(const lever::WallsFirst&) const {
    return "cut the loop along the wall before the rest of its pass is cleared";
  }
  std::string operator()(const lever::Tape& l) const {
    return l.for_vacuum
               ? "hold the whole sheet with double-coated tape instead of the vacuum"
               : fmt::format("tape under the whole sheet instead of {:.3g} % of it", 100 * l.share_now);
  }
  std::string operator()(const lever::Skin& l) const {
    return fmt::format("leave a skin of {} on the table and cut it by hand", shown.short_length(l.thick_mm));
  }
  std::string operator()(const lever::Tabs& l) const {
    return fmt::format("leave {} tabs, {} wide and {} high, in every loop that cuts through", l.tabs,
                       shown.short_length(l.wide_mm), shown.short_length(l.high_mm));
  }
  std::string operator()(const lever::Helix&) const {
    return "a cutter of the same size with straight flutes: no up-cut lift";
  }
};

struct SayChange {
  const Shown& shown;

  std::string operator()(const change::WebsSnag& c) const {
    return fmt::format("webs that snag {} -> {}", c.before, c.after) +
           (c.no_longer > 0 ? fmt::format(", {} no longer", c.no_longer) : "");
  }
  std::string operator()(const change::WebsNoLonger& c) const {
    return fmt::format("{} of {} snagging webs no longer{}", c.webs, c.of,
                       places_words(c.places_mm, c.webs, shown));
  }
  std::string operator()(const change::WebsAnew& c) const {
    const std::string places = places_words(c.places_mm, c.webs, shown);
    return c.fewer
               ? fmt::format("webs that snag and did not: {}{}", c.webs, places)
               : fmt::format("webs that snag {} -> {}: {} that did not{}", c.before, c.after, c.webs, places);
  }
  std::string operator()(const change::WebsHarder& c) const {
    return fmt::format("S of {} snagging web{} rises (most at {}: {} -> {})", c.webs, c.webs == 1 ? "" : "s",
                       plan_place(c.place_mm, shown), snag_text(c.s_before), snag_text(c.s_after));
  }
  std::string operator()(const change::WorstS& c) const {
    return fmt::format("worst S {} -> {}", snag_text(c.before), snag_text(c.after));
  }
  std::string operator()(const change::StoppingFindings& c) const {
    return fmt::format("findings that stop the job {} -> {}", c.before, c.after);
  }
  std::string operator()(const change::Rubs& c) const {
    return fmt::format("places where neck or shank rub {} -> {}", c.before, c.after);
  }
  std::string operator()(const change::Hold& c) const {
    return fmt::format("hold-down factor {:.2f} ({:.2f} to {:.2f}) -> {:.2f} ({:.2f} to {:.2f})", c.before,
                       c.before_low, c.before_high, c.after, c.after_low, c.after_high);
  }
  std::string operator()(const change::LongStrands& c) const {
    return fmt::format("long strands {} -> {}", c.before, c.after);
  }
  std::string lengths(const char* what, double before_mm, double after_mm, int digits) const {
    return fmt::format("{} {} -> {}", what, shown.number(before_mm, digits), shown.length(after_mm, digits));
  }
  std::string operator()(const change::LongestRun& c) const {
    return lengths("longest strand run", c.before_mm, c.after_mm, 0);
  }
  std::string operator()(const change::Lean& c) const {
    return lengths("largest lean of a holding web", c.before_mm, c.after_mm, 2);
  }
  std::string operator()(const change::Chip& c) const {
    return lengths("mean chip load", c.before_mm, c.after_mm, 3);
  }
  std::string operator()(const change::OverCut& c) const {
    return lengths("largest over-cut", c.before_mm, c.after_mm, 2);
  }
  std::string operator()(const change::ProgramTime& c) const {
    return fmt::format("program time {:.0f} -> {:.0f} s", c.before_s, c.after_s);
  }
  std::string operator()(const change::ProgramMadeAnew&) const {
    return "the pockets move, so the program must be made anew; its time and strands are not known";
  }
  std::string operator()(const change::ProgramNotWritten& c) const {
    return "the program cannot be written: " + c.fault;
  }
};

struct SayUntried {
  const Shown& shown;

  std::string operator()(const untried::DrawerEmpty&) const {
    return "another cutter: the scene's drawer is empty";
  }
  std::string operator()(const untried::OtherDiameter& u) const {
    return fmt::format("cutter {} of the drawer: {} instead of {} needs a program of its own", u.cutter,
                       shown.short_length(u.diameter_mm), shown.short_length(u.now_mm));
  }
  std::string operator()(const untried::NoSecondLoop&) const {
    return "stock left and a light finish: no pass of the program has a second loop to leave it by";
  }
  std::string operator()(const untried::NoClosedLoop&) const {
    return "climb instead of conventional: the program has no closed loop to turn round";
  }
  std::string operator()(const untried::NoWidthHolds& u) const {
    return fmt::format("wider webs: none up to {:g} times as thick as now would hold", u.up_to_times);
  }
  std::string operator()(const untried::NoFirmerFoam&) const {
    return "a firmer foam: no card of soft foam bites less for its stiffness";
  }
  std::string operator()(const untried::StopChangesNothing& u) const {
    return fmt::format(
        "a stop before line {}: it changes nothing in the cut and only lets you look; the plan "
        "of stops lists what to look for",
        u.line);
  }
  std::string operator()(const untried::NoRunBeside&) const {
    return "cross-cuts first: no long run lies beside another in its layer, so no slot would cross them";
  }
  std::string operator()(const untried::NoWallAfterLoops&) const {
    return "walls before clearing: no pass has its wall cut after other loops";
  }
  std::string operator()(const untried::WholeSheetTaped&) const {
    return "more tape: it lies under the whole sheet already";
  }
  std::string operator()(const untried::NoSuchPath& u) const {
    return words_of(u.lever, shown) + ": the program has no place for it";
  }
  std::string operator()(const untried::ProgramNotWritten& u) const {
    return words_of(u.lever, shown) + ": the program cannot be written: " + u.fault;
  }
  std::string operator()(const untried::PreviewFailed& u) const {
    return words_of(u.lever, shown) + ": " + u.fault;
  }
};

} // namespace

std::string words_of(const Lever& lever, const Shown& shown) {
  return std::visit(SayLever{shown}, lever);
}
std::string words_of(const Change& change, const Shown& shown) {
  return std::visit(SayChange{shown}, change);
}
std::string words_of(const Untried& why, const Shown& shown) {
  return std::visit(SayUntried{shown}, why);
}

std::string wall_side_words(const WallSides& sides, const Shown& shown) {
  std::string words =
      "by the metal-cutting textbook (Altintas, Manufacturing Automation) a conventional cut ";
  if (sides.always_draws)
    words += "draws its wall into the cutter";
  else
    words += fmt::format("draws its wall into the cutter once its radial width passes {} to {} "
                         "(edge friction {:g} to {:g})",
                         shown.number(sides.draws_from_mm, 2), shown.length(sides.draws_to_mm, 2),
                         sides.friction_low, sides.friction_high);
  words += " and a climb cut pushes it away";
  if (sides.climb_draws_under_mm > 0)
    words += fmt::format(", unless the edge slides easily and the cut is thinner than {}",
                         shown.length(sides.climb_draws_under_mm, 2));
  return words + "; for foam this is not settled, and S counts a pull on both sides";
}

} // namespace snagmap
