#include "viz/words/note_words.hpp"

#include "models/base/quantity.hpp"
#include "models/mechanics/snag.hpp"

#include <fmt/format.h>

namespace snagmap {
namespace {

struct SayNote {
  const Shown& shown;

  std::string operator()(const note::Remark& n) const { return words_of(n, shown); }
  std::string operator()(const note::SheetLarger& n) const {
    return fmt::format("the sheet is {:.1f} times as large as the program's extents ({}): is the program in "
                       "inch (G20), or the sheet's size in the wrong unit?",
                       n.times, shown.length(n.program_mm, 1));
  }
  std::string operator()(const note::ProgramLarger& n) const {
    return fmt::format("the program's extents ({}) are {:.1f} times as large as the sheet: is the program in "
                       "mm (G21), or the sheet's size in the wrong unit?",
                       shown.length(n.program_mm, 1), n.times);
  }
  std::string operator()(const note::BorderAssumed&) const {
    return "the sheet's size is not given: its border is assumed, and foam beside it is judged as if the "
           "sheet "
           "went on. Thin foam between a cut and the real edge is not seen: give size in [sheet]";
  }
  std::string operator()(const note::FoamInterpolated& n) const {
    return fmt::format("foam {} at {:g} kg/m3 is interpolated between cards, so its bands are wider", n.foam,
                       n.density_kg_m3);
  }
  std::string operator()(const note::SpotsLeftOut& n) const {
    return fmt::format(
        "{} spots were not verified with finite elements: the limit of {:.3g} million unknowns "
        "was used up (--verify all has no limit)",
        n.spots, 1e-6 * n.most_unknowns);
  }
  std::string operator()(const note::NoneSolved&) const {
    return "no spot was solved with finite elements: every S is the formula's";
  }
};

struct SayWhy {
  const Shown& shown;

  std::string operator()(const why::Source& w) const { return w.text; }
  std::string operator()(const why::TouchedOff& w) const {
    return fmt::format("line {} says where the tip stands, as touched off; a start in the scene wins over "
                       "it",
                       w.line);
  }
  std::string operator()(const why::DeepestCutAndFloor& w) const {
    return fmt::format("the program's deepest cut and {} of floor", shown.short_length(w.floor_mm));
  }
  std::string operator()(const why::ExtentsAndBorder& w) const {
    return fmt::format("the program's extents, the cutter's radius and {} all round: judged as if the sheet "
                       "went on",
                       shown.short_length(w.border_mm));
  }
  std::string operator()(const why::FlutesNeckAndShank& w) const {
    return fmt::format("flutes and neck and {} of shank", shown.short_length(w.shank_mm));
  }
};

std::string amount_words(const Amount& amount, const Shown& shown) {
  switch (amount.dimension) {
  case Dimension::length:
    return shown.short_length(amount.value);
  case Dimension::share:
    return fmt::format("{:.10g} %", 100 * amount.value);
  case Dimension::speed:
    if (shown.inch)
      return shown.feed(amount.value);
    break;
  case Dimension::area:
  case Dimension::volume:
  case Dimension::acceleration:
    if (shown.inch)
      return show(amount.value, amount.dimension, true);
    break;
  default:
    break;
  }
  return fmt::format("{:.10g} {}", amount.value, base_unit(amount.dimension));
}

struct SayCoupon {
  std::string operator()(const NotSolvedIn3d& n) const {
    return fmt::format(
        "wall {} is not solved by finite elements: its S is the formula's, high by 1.1 to 2 with "
        "ends held",
        n.wall);
  }
  std::string operator()(const EdgeOutside& n) const {
    return fmt::format("the predicted edge of {} lies outside its walls", n.cutter);
  }
  std::string operator()(const TakesLong& n) const {
    return fmt::format("at the job's own feed the piece takes {:.0f} minutes, more than ten", n.minutes);
  }
};

} // namespace

std::string words_of(const Note& note, const Shown& shown) {
  return std::visit(SayNote{shown}, note);
}

std::string words_of(const Assumed& assumed, const Shown& shown) {
  // Two sides of a sheet go with an x between them, everything else with a comma.
  const bool sides = std::holds_alternative<why::ExtentsAndBorder>(assumed.why);
  std::string value = assumed.word;
  for (const Amount& amount : assumed.amounts)
    value += (value.empty() ? "" : sides ? " x " : ", ") + amount_words(amount, shown);
  return fmt::format("{}{}{}{}{} = {} ({})", assumed.file, assumed.file.empty() ? "" : ": ", assumed.table,
                     assumed.table.empty() || assumed.key.empty() ? "" : " ", assumed.key, value,
                     std::visit(SayWhy{shown}, assumed.why));
}

std::string words_of(const CouponNote& note, const Shown&) {
  return std::visit(SayCoupon{}, note);
}

std::string words_of(const CouponWorst& worst, const Shown& shown) {
  return fmt::format("program line {}: {} thick, {} high, {} long, S {}", worst.program_line,
                     shown.length(worst.w_mm, 2), shown.length(worst.h_mm, 2),
                     shown.length(worst.length_mm, 0), snag_text(worst.s)) +
         (worst.s_low <= 100 ? fmt::format(" ({} to {})", snag_text(worst.s_low), snag_text(worst.s_high))
                             : "");
}

} // namespace snagmap
