// Every sentence a finding can say.
#include "viz/words/finding_words.hpp"

#include "viz/words/clock.hpp"

#include <fmt/format.h>

#include <cmath>

namespace snagmap {
namespace {

constexpr double kEdgeNear_mm = 30; // an edge farther off does not matter to what peels

std::string wider(double mm, const Shown& shown) {
  return shown.length(std::abs(mm), 2) + (mm >= 0 ? " wider" : " tighter");
}

/// "; the longest: lines 3 to 9 (146 mm, 2.2 s), line 12 (4 mm, 0.1 s)".
std::string longest_words(const std::vector<fact::Lines>& list, const Shown& shown) {
  std::string words = "; the longest";
  for (std::size_t n = 0; n < list.size(); ++n)
    words += fmt::format("{} {} ({}, {:.1f} s)", n ? "," : ":",
                         list[n].to_line > list[n].from_line
                             ? fmt::format("lines {} to {}", list[n].from_line, list[n].to_line)
                             : fmt::format("line {}", list[n].from_line),
                         shown.length(list[n].length_mm, 0), list[n].spent_s);
  return words;
}

const char* holder(HoldDownKind kind) {
  return kind == HoldDownKind::tape ? "the tape" : "the vacuum";
}

/// One overload for each fact: a kind without a sentence does not compile.
struct Say {
  const Shown& shown;

  std::string body(const std::string& what, double depth_mm, std::int32_t first, std::int32_t last) const {
    return fmt::format("{}, {} deep at worst", what, shown.length(depth_mm, 1)) +
           (last > first ? fmt::format(" (lines {} to {})", first, last) : "");
  }
  std::string operator()(const fact::HolderInFoam& f) const {
    return body("the holder runs into foam", f.depth_mm, f.first_line, f.last_line);
  }
  std::string operator()(const fact::NutInFoam& f) const {
    return body("the collet nut runs into foam", f.depth_mm, f.first_line, f.last_line);
  }
  std::string operator()(const fact::NeckRubs& f) const {
    return body("the neck rubs foam", f.depth_mm, f.first_line, f.last_line);
  }
  std::string operator()(const fact::ShankRubs& f) const {
    return body("the shank rubs foam", f.depth_mm, f.first_line, f.last_line);
  }
  std::string operator()(const fact::RapidInFoam& f) const {
    return body(f.body == Zone::flutes ? "a rapid move runs through foam"
                : f.body == Zone::neck ? "the neck meets foam in a rapid move"
                                       : "the shank meets foam in a rapid move",
                f.depth_mm, f.first_line, f.last_line);
  }
  std::string operator()(const fact::CutIntoTable& f) const {
    return fmt::format("the tip goes {} below the sheet, into what it lies on", shown.length(f.below_mm, 2));
  }
  std::string operator()(const fact::ThinFoam& f) const {
    return fmt::format("foam too thin to judge beside the path at {} place{}, {}: here {} thick and {} high. "
                       "The cutter bites through it, it comes off as fuzz or a strand; lanes closer than the "
                       "cutter's diameter leave none",
                       f.places, f.places == 1 ? "" : "s",
                       f.left_standing == 0 ? "cut away later"
                                            : fmt::format("left standing at {}", f.left_standing),
                       shown.length(f.w_mm, 2), shown.length(f.h_mm, 1));
  }

  std::string operator()(const fact::ColletUnknown& f) const {
    const std::string open = fmt::format("cutter {}: the shank fit is not judged: ", f.cutter);
    if (f.series == f.nearest)
      return open +
             fmt::format("{} collets take shanks up to {}, not {}; give the size engraved on the collet",
                         f.series, shown.short_length(f.largest_mm), shown.short_length(f.bore_mm));
    return open + fmt::format("unknown collet series \"{}\"; the nearest is \"{}\"; give the series as "
                              "engraved, or both sizes engraved on the collet",
                              f.series.substr(0, 40), f.nearest);
  }
  std::string in_collet(const std::string& cutter, double shank_mm, double bore_mm, Fit fit) const {
    return fmt::format("cutter {}: its {} shank in the {} collet: {}", cutter, shown.length(shank_mm, 3),
                       shown.short_length(bore_mm), to_text(fit));
  }
  std::string operator()(const fact::ColletRefused& f) const {
    const std::string words = in_collet(f.cutter, f.shank_mm, f.bore_mm, f.fit);
    if (f.fit != Fit::shank_too_small)
      return words;
    return words + fmt::format("; it closes by {}, {} are needed: the shank would be held at one end, tilt "
                               "and creep out. Use a collet made for this shank",
                               shown.length(f.range_mm, 2), shown.length(f.closes_mm, 2));
  }
  std::string operator()(const fact::ColletCloses& f) const {
    return in_collet(f.cutter, f.shank_mm, f.bore_mm, f.fit) +
           fmt::format("; it must close {} of {}, which costs grip and true running",
                       shown.number(f.closes_mm, 3), shown.length(f.range_mm, 2));
  }
  std::string operator()(const fact::ColletNotGiven&) const {
    return "no collet is given, so the shank fit is not judged; add [collet] to the scene";
  }
  std::string operator()(const fact::ClampShort& f) const {
    return fmt::format("cutter {}: {} ({} of {})", f.cutter, to_text(f.hold), shown.number(f.clamped_mm, 1),
                       shown.length(f.collet_mm, 1));
  }
  std::string operator()(const fact::ReachShort& f) const {
    return fmt::format("cutter {}: it sticks out {} but cuts {} deep: the collet face goes {} below the "
                       "sheet's top",
                       f.cutter, shown.length(f.stick_out_mm, 1), shown.length(f.depth_mm, 1),
                       shown.length(f.below_mm, 1));
  }
  std::string operator()(const fact::WallAboveFlutes& f) const {
    return fmt::format("cutter {}: {} of the deepest wall stand above its flutes, {} beside the neck",
                       f.cutter, shown.length(f.above_mm, 1), shown.length(f.relief_mm, 2));
  }
  std::string operator()(const fact::ShankBesideWall& f) const {
    return fmt::format(
        "cutter {}: {} of the deepest wall stand above its flutes and touch a shank as wide as "
        "the cut: rubbing heats foam until it melts or burns",
        f.cutter, shown.length(f.above_mm, 1));
  }
  std::string operator()(const fact::NeckRub& f) const {
    if (f.relief_mm <= 0)
      return f.lean_mm > 0
                 ? fmt::format(
                       "cutter {}: {} webs lean up to {} and rub the shank, which is no thinner than the cut",
                       f.cutter, f.webs, shown.length(f.lean_mm, 2))
                 : fmt::format(
                       "cutter {}: {} webs are drawn in and rub the shank, which is no thinner than the cut",
                       f.cutter, f.webs);
    if (f.lean_mm > 0)
      return fmt::format("cutter {}: {} webs lean up to {}, over the {} beside the neck, and rub it",
                         f.cutter, f.webs, shown.length(f.lean_mm, 2), shown.length(f.relief_mm, 2));
    return fmt::format("cutter {}: {} webs are drawn in past the {} beside the neck and rub it", f.cutter,
                       f.webs, shown.length(f.relief_mm, 2));
  }
  template <FindingKind Kind>
  std::string whirls(const fact::Whirls<Kind>& f, Whirl whirl, const char* advice) const {
    return fmt::format("cutter {}: {:.0f} rpm is {}, {:.0f} rpm, at {} of stick-out: {}", f.cutter, f.rpm,
                       to_text(whirl), f.critical_rpm, shown.length(f.stick_out_mm, 0), advice);
  }
  std::string operator()(const fact::WhirlRefused& f) const {
    return whirls(f, Whirl::refuse, "it can bend and fly apart; shorten it or slow the spindle");
  }
  std::string operator()(const fact::WhirlNear& f) const {
    return whirls(f, Whirl::near, "keep it short and true");
  }

  std::string operator()(const fact::HoldDownNotGiven&) const {
    return "no hold-down is given, so nothing is said about whether the sheet and its pieces stay down; add "
           "[hold_down] to the scene";
  }
  std::string operator()(const fact::ClampingPressure& f) const {
    if (f.nominal_kPa <= 0)
      return "the vacuum sucks air through the open cells and holds next to nothing; bond a film under the "
             "sheet or use tape";
    return fmt::format("the vacuum clamps this foam with {:.3g} kPa ({:.3g} to {:.3g}): {}", f.nominal_kPa,
                       f.low_kPa, f.high_kPa, f.source);
  }
  std::string operator()(const fact::SealLost& f) const {
    return fmt::format(
        "the floor is cut through at line {}: from there on air leaks in, and how much hold is "
        "left is not known",
        f.line);
  }
  template <FindingKind Kind> std::string holds(const fact::Holds<Kind>& f) const {
    std::string words = fmt::format(
        "{} holds {} at {:.2g} times the pull ({:.2g} to {:.2g}) {}: {:.2g} N sideways, {:.2g} N up",
        holder(f.by),
        f.piece_line > 0 ? fmt::format("the loose piece freed at line {} ({} on the table)", f.piece_line,
                                       shown.area(f.held_mm2))
                         : "the sheet",
        f.nominal, f.low, f.high, f.snag ? "if the cutter snags" : "of the cut", f.lateral_N, f.lift_N);
    if (f.give != Give::none)
      words += fmt::format("; it {} first", to_text(f.give));
    if (f.piece_line == 0 && f.edge_away_mm < kEdgeNear_mm)
      words += fmt::format("; the nearest free edge is {} away", shown.length(f.edge_away_mm, 0));
    if (f.snag && !f.expected)
      words += "; this snag is foreseen only by the upper end of its band";
    return words;
  }
  std::string operator()(const fact::WeakHold& f) const { return holds(f); }
  std::string operator()(const fact::HoldDown& f) const { return holds(f); }

  /// What holds a piece that came free.
  std::string held(const fact::LoosePiece& f) const {
    if (f.base_mm2 > 0)
      return fmt::format("only what is under its {} on the table holds it, at a height of {}",
                         shown.area(f.base_mm2), shown.length(f.height_mm, 1));
    return "nothing holds it: it does not reach the table";
  }
  std::string held(const fact::PieceOnSkin& f) const {
    return fmt::format("only a skin on the table joins it to the sheet ({} of it stands on the table)",
                       shown.area(f.base_mm2));
  }
  template <FindingKind Kind> std::string piece(const fact::Piece<Kind>& f, const char* how) const {
    std::string words = fmt::format("a piece of {} x {} x {}, {} {}; {}", shown.number(f.size_mm.x, 1),
                                    shown.number(f.size_mm.y, 1), shown.length(f.size_mm.z, 1),
                                    shown.volume(f.volume_mm3, 2), how, held(f));
    if (f.beside_s > 0)
      words += fmt::format("; the cutter is beside it for {:.1f} s more", f.beside_s);
    if (f.gone_line > 0)
      words += fmt::format("; it is machined from line {} and gone by line {}", f.next_cut_line, f.gone_line);
    else if (f.next_cut_line > 0)
      words += fmt::format("; it is cut again from line {} on", f.next_cut_line);
    return words;
  }
  std::string operator()(const fact::LoosePiece& f) const { return piece(f, "comes free"); }
  std::string operator()(const fact::PieceOnSkin& f) const { return piece(f, "is cut round"); }
  std::string operator()(const fact::FloorCutThrough& f) const {
    return fmt::format("the floor is cut through to the table over {}", shown.area(f.area_mm2));
  }
  std::string operator()(const fact::SkinLeft& f) const {
    return fmt::format("a skin of {} is left on the table over {}: it tears and lifts easily",
                       shown.length(f.least_mm, 2), shown.area(f.area_mm2));
  }
  std::string operator()(const fact::Crumbs& f) const {
    return fmt::format("{} crumbs under {} come free, {} together", f.count,
                       shown.small_volume(f.each_under_mm3), shown.volume(f.together_mm3, 2));
  }

  std::string operator()(const fact::Strand& f) const {
    std::string words = fmt::format("{} of {} without a break (to line {}): a strand of up to {:.1f} g, "
                                    "{:.1f} turns round the cutter",
                                    shown.length(f.length_mm, 0), f.slot ? "slot" : "cut", f.to_line,
                                    f.mass_g, f.turns_round_cutter);
    if (f.strip_mm > 0)
      words += fmt::format("; if nothing severs the strip it is {} long", shown.metres(f.strip_mm));
    if (f.neck_room_mm3 > 0)
      words += fmt::format("; {} of foam against {} of room round the neck", shown.volume(f.volume_mm3, 2),
                           shown.volume(f.neck_room_mm3, 2));
    for (std::size_t n = 0; n < f.also_lines.size(); ++n)
      words += fmt::format("{} {}", n == 0 ? "; the same way again from line" : ",", f.also_lines[n]);
    return words;
  }

  std::string operator()(const fact::FeedOverAxes& f) const {
    return fmt::format("the program asks for {} where the axes allow {}: {} in {} place{}, {:.1f} % of the "
                       "feed path, run slower than written",
                       shown.feed(f.programmed_mm_min), shown.feed(f.allowed_mm_min),
                       shown.length(f.over_mm, 0), f.places, f.places == 1 ? "" : "s", 100 * f.share);
  }
  std::string operator()(const fact::FeedNotReached& f) const {
    return fmt::format("{:.0f} % of the feed path is run under nine tenths of its feed word: {} in the mean "
                       "of {} programmed{}",
                       100 * f.share, shown.feed(f.real_mm_min), shown.feed(f.programmed_mm_min),
                       longest_words(f.longest, shown));
  }
  std::string operator()(const fact::ThinChips& f) const {
    return fmt::format("{} cuts chips thinner than {} a tooth on {:.0f} % of its path in foam, {:.0f} s: "
                       "there the edge rubs, and heat melts or lights foam{}",
                       f.cutter, shown.short_length(f.least_mm), 100 * f.share, f.thin_s,
                       longest_words(f.longest, shown));
  }
  std::string operator()(const fact::SpindleRange& f) const {
    return fmt::format("S{:.0f} is outside the spindle's {:.0f} to {:.0f} rev/min: real chip loads will "
                       "differ from those given here",
                       f.rpm, f.least_rpm, f.most_rpm);
  }
  std::string operator()(const fact::SpindleStands& f) const {
    return f.never_started
               ? "the program never starts the spindle: here the cutter meets foam, so it must be switched "
                 "on "
                 "by hand before"
               : fmt::format("the spindle stands here, and the cutter is pushed through {} of foam: start it "
                             "before this line",
                             shown.volume(f.foam_mm3, 2));
  }

  std::string operator()(const fact::WallUnknown& f) const {
    return fmt::format("at {} places beside finished walls S is 1 or more, here most: no error in {} can be "
                       "foretold there",
                       f.places, shown.inch ? "inches" : "mm");
  }
  std::string operator()(const fact::WallError& f) const {
    return fmt::format("web {}: sprung back, this side of the pocket is {} at the floor ({} to {}) and {} at "
                       "the top; the tolerance is {}",
                       f.web, wider(f.floor_mm, shown), shown.number(f.floor_low_mm, 2),
                       shown.length(f.floor_high_mm, 2), wider(f.top_mm, shown),
                       shown.length(f.tolerance_mm, 2));
  }
  std::string operator()(const fact::ThicknessNotRun& f) const {
    const std::string words = "the sheet's thickness spread was not run: ";
    switch (f.why) {
    case fact::ThicknessNotRun::Why::solid:
      return words + "the sheet came as a solid, whose other thicknesses are not known";
    case fact::ThicknessNotRun::Why::too_wide:
      return words + fmt::format("the thickness spread, {}, is no less than the sheet's thickness, {}",
                                 shown.short_length(f.spread_mm), shown.short_length(f.thickness_mm));
    case fact::ThicknessNotRun::Why::not_cut:
      break;
    }
    return words + f.fault;
  }
  std::string operator()(const fact::ThicknessSpread& f) const {
    std::string words = f.zero_on_table ? "zero on the table: depths follow the sheet"
                                        : "zero on top: floors follow the sheet";
    for (const fact::SheetCase& one : f.cases)
      words += fmt::format("; {} {} thick: thinnest floor {}, deepest wall {}{}", to_text(one.sheet),
                           shown.length(one.thickness_mm, 2), shown.length(one.least_floor_mm, 2),
                           shown.length(one.deepest_mm, 2),
                           one.through_mm2 > 0 ? ", cut through over " + shown.area(one.through_mm2) : "");
    return words;
  }
  std::string operator()(const fact::ThinSheetCutThrough& f) const {
    return fmt::format("in the thinnest sheet the floor is cut through over {} more than in the nominal one",
                       shown.area(f.more_mm2));
  }
  std::string operator()(const fact::NearSeam& f) const {
    return fmt::format("{} at z {} lies within {} of the seam at z {}{}: glue loads the cutter and the seam "
                       "may peel",
                       f.what == fact::AtSeam::floor  ? "a floor"
                       : f.what == fact::AtSeam::step ? "a layer step"
                                                      : "the upper end of the flutes",
                       shown.length(f.at_z_mm, 2), shown.short_length(f.within_mm),
                       shown.length(f.seam_z_mm, 2),
                       f.area_mm2 > 0 ? " (" + shown.area(f.area_mm2) + ")" : "");
  }
  std::string operator()(const fact::TopEdgeRank& f) const {
    std::string words = "upward pull on the top edge, hardest first (a rank, no size):";
    for (const fact::Puller& one : f.hardest_first)
      words += fmt::format(" {}{} ({} passes)", one.cutter, one.in_use ? "" : " from the drawer", one.passes);
    return words;
  }
  std::string operator()(const fact::ZeroContradicts& f) const {
    return fmt::format("the zero is given on the table, but every cut lies at z {} or below it: the program "
                       "looks written for a zero on top",
                       shown.length(f.highest_cut_z_mm, 2));
  }

  std::string operator()(const fact::LongDwell& f) const {
    return fmt::format("a dwell of {:g} s, {:.1f} minutes: P counts seconds here; was it meant in "
                       "milliseconds, {:g} s?",
                       f.dwell_s, f.dwell_s / 60, f.dwell_s / 1000) +
           (f.more > 0 ? fmt::format(" {} more dwells are over a minute", f.more) : "");
  }
  std::string operator()(const fact::LargeSheet& f) const {
    return fmt::format("{} {} x {}, over {}: {}", f.sheet_given ? "the sheet is" : "the program goes over",
                       shown.number(f.x_mm, 0), shown.length(f.y_mm, 0),
                       shown.inch ? "six and a half feet" : "two metres",
                       f.sheet_given ? "is its size in the right unit? A size in inches where millimetres "
                                       "were meant comes out 25.4 times too large"
                       : f.inch ? "the program is read in inch (G20): were its numbers meant in mm (G21)? "
                                  "Taken for inches they come out 25.4 times too large"
                                : "is a decimal point missing, or a number in inches multiplied twice?");
  }
};

} // namespace

std::string words_of(const Fact& fact, const Shown& shown) {
  return std::visit(Say{shown}, fact);
}

std::string moment_words(const Finding& finding) {
  if (!finding.time_s)
    return "whole job";
  return finding.program_line > 0
             ? fmt::format("line {}, {}", finding.program_line, clock_text(*finding.time_s))
             : clock_text(*finding.time_s);
}

} // namespace snagmap
