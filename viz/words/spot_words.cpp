#include "viz/words/spot_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

namespace snagmap {

SnagBand band_of(const Spot& spot) {
  return {spot.answer.s, spot.answer.s_low, spot.answer.s_high, spot.solved()};
}

std::string SnagBand::words() const {
  return low > 100 ? "the whole band " + snag_text(low)
                   : fmt::format("band {} to {}", snag_text(low), snag_text(high));
}

std::string finding_of(const Preview& preview) {
  const Shown shown{preview.scene.show_inch};
  std::set<int> webs;
  for (const Spot& spot : preview.spots)
    if (spot.s() >= 1)
      webs.insert(spot.web);
  const std::size_t alarming = webs.size();
  if (preview.spots.empty())
    return "No web beside the cutter was found.";
  const Spot& worst = preview.spots.front();
  const std::string number = band_of(worst).text();
  if (alarming == 0)
    return fmt::format("No web reaches snag number 1; the highest is {}, web {} at program line {}.", number,
                       worst.web, worst.program_line);
  return fmt::format("{} {} to snag or tear. Worst: web {} at program line {}, snag number {}, {} thick.",
                     alarming, alarming == 1 ? "web is predicted" : "webs are predicted", worst.web,
                     worst.program_line, number, shown.length(worst.question.web.w_mm));
}

bool same_place(const Spot& a, const Spot& b) {
  // As thick, and within its length: another pass or sample of the same wall.
  const double w = a.question.web.w_mm,
               length = std::max(a.question.web.length_mm(), b.question.web.length_mm());
  const bool alike = std::abs(b.question.web.w_mm - w) < 0.1 * w;
  const double near = 8 + std::max(w, b.question.web.w_mm) + (alike ? 0.6 * length : 0);
  return norm(xy(b.place_mm) - xy(a.place_mm)) < near;
}

std::vector<std::size_t> worst_places(const Preview& preview, std::size_t most) {
  std::vector<std::size_t> ranks;
  for (std::size_t i = 0; i < preview.spots.size() && ranks.size() < most; ++i) {
    const Spot& spot = preview.spots[i];
    if (spot.s() < 0.5 && ranks.size() >= 3)
      break;
    const bool known = std::any_of(ranks.begin(), ranks.end(), [&](std::size_t rank) {
      const Spot& other = preview.spots[rank];
      return other.web == spot.web || same_place(spot, other);
    });
    if (!known)
      ranks.push_back(i);
  }
  return ranks;
}

namespace {

struct SayReason {
  const Shown& shown;

  std::string operator()(const reason::Slender& r) const {
    return fmt::format("slender: {:.1f} times as high as thick", r.height_over_thickness);
  }
  std::string operator()(const reason::FlutesPastPass& r) const {
    return fmt::format("flutes reach {} up the wall, {} past the pass: S would be {} with flutes no longer "
                       "than the pass",
                       shown.length(r.up_mm, 1), shown.length(r.past_mm, 1), snag_text(r.s_without));
  }
  std::string operator()(const reason::FreeEndNear& r) const {
    return fmt::format("free end {} away", shown.length(r.away_mm, 1));
  }
  std::string operator()(const reason::Island&) const { return "a short island: bends in both directions"; }
  std::string operator()(const reason::NeedsAKick&) const {
    return "needs a kick: the touching slices alone hold (S under 1)";
  }
  std::string operator()(const reason::LeansOnNeck&) const { return "leans against the neck"; }
  std::string operator()(const reason::OutsideRange&) const {
    return "shape outside the formula's range: the nearest shape inside was judged";
  }
  std::string operator()(const reason::NotSolved& r) const {
    return fmt::format("not solved to the end: a relative {:.1g} is left of S, {} of the lean", r.left_of_s,
                       shown.inch ? shown.length(r.left_of_lean_mm)
                                  : fmt::format("{:.1g} mm", r.left_of_lean_mm));
  }
  std::string operator()(const reason::Laminate&) const {
    return "more than one foam in it or close under it: the formula knows one, so only finite elements judge "
           "it, "
           "and without them it is open";
  }
  std::string operator()(const reason::OpenBand&) const {
    return "open: the band crosses 1; it hangs on k_s/E of this foam, and a test cut of walls beside this "
           "width "
           "would close it";
  }
};

struct SayUnsolved {
  const Shown& shown;

  std::string operator()(const unsolved::NoContact&) const {
    return "the spot has no wall in reach of the flutes; the formula's value stays";
  }
  std::string operator()(const unsolved::WebGone&) const {
    return "the web is gone at this moment: no foam within reach of the spot's place; check the spot's line "
           "in the program, the formula's value stays";
  }
  std::string operator()(const unsolved::NoWeb& u) const {
    return fmt::format("the foam behind the wall is thicker than {}: no web; the formula's value stays",
                       shown.short_length(u.over_mm));
  }
  std::string operator()(const unsolved::UnderAVoxel& u) const {
    return fmt::format("the web is {} thick, less than one voxel of the record ({}): its walls are not "
                       "resolved along its length; preview with a smaller --voxel",
                       shown.length(u.w_mm, 3), shown.length(u.voxel_mm, 3));
  }
  std::string operator()(const unsolved::NoModulus&) const {
    return "the foam's modulus is zero; give the foam a modulus E above zero";
  }
  std::string operator()(const unsolved::FaceElsewhere&) const {
    return "the wall's face is not where the spot says: the web is gone there or stands askew; the formula's "
           "value stays";
  }
  std::string operator()(const unsolved::TooLarge& u) const {
    return fmt::format("its bricks need {:.3g} million unknowns, the limit is {:.3g} million",
                       1e-6 * u.unknowns, 1e-6 * u.most);
  }
  std::string operator()(const unsolved::LeftOut& u) const {
    return fmt::format("left out: the spots before it used up the limit of {:.3g} million unknowns; ask for "
                       "it with --verify all",
                       1e-6 * u.most);
  }
  std::string operator()(const unsolved::Loose&) const {
    return "foam under the flutes is held by nothing: the web is loose at this moment";
  }
  std::string operator()(const unsolved::NotSettled& u) const {
    return fmt::format("the solve stopped at a residual of {:.2g}", u.residual);
  }
  std::string operator()(const unsolved::NoModes&) const {
    return "the web's own swings were not found: their solve did not settle, or nothing of it can move";
  }
  std::string operator()(const unsolved::SpindleStands&) const {
    return "the spindle stands or the move has no feed there; give S and M3 in the program";
  }
};

} // namespace

std::string words_of(const Reason& reason, const Shown& shown) {
  return std::visit(SayReason{shown}, reason);
}

std::string words_of(const Unsolved& why, const Shown& shown) {
  return std::visit(SayUnsolved{shown}, why);
}

std::string reasons_words(const Spot& spot, const Shown& shown) {
  std::string text;
  for (const Reason& one : spot.reasons)
    text += (text.empty() ? "" : "; ") + words_of(one, shown);
  return text;
}

std::string reason_of(const Spot& spot, const Shown& shown) {
  if (!spot.reasons.empty()) {
    const auto change = std::find_if(spot.reasons.begin(), spot.reasons.end(), [](const Reason& r) {
      return std::holds_alternative<reason::FlutesPastPass>(r);
    });
    const std::string first = words_of(spot.reasons.front(), shown);
    return change == spot.reasons.end() || change == spot.reasons.begin()
               ? first
               : first + "; " + words_of(*change, shown);
  }
  return fmt::format("flutes reach {} up a web {} thick and {} tall", shown.length(spot.a_mm),
                     shown.length(spot.question.web.w_mm), shown.length(spot.question.web.h_mm));
}

} // namespace snagmap
