#include "viz/words/spot_words.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace snagmap {

SnagBand band_of(const Spot& spot) {
  if (spot.fe && spot.fe->verified)
    return {spot.fe->s, spot.fe->s_low, spot.fe->s_high, true};
  return {spot.answer.s, spot.answer.s_low, spot.answer.s_high, false};
}

std::string SnagBand::words() const {
  return low > 100 ? "the whole band " + snag_text(low)
                   : fmt::format("band {} to {}", snag_text(low), snag_text(high));
}

std::string finding_of(const Preview& preview) {
  const Shown shown{preview.scene.show_inch};
  const auto alarming =
      std::count_if(preview.spots.begin(), preview.spots.end(), [](const Spot& s) { return s.s() >= 1; });
  if (preview.spots.empty())
    return "No web beside the cutter was found.";
  const Spot& worst = preview.spots.front();
  const std::string number = band_of(worst).text();
  if (alarming == 0)
    return fmt::format("No spot reaches snag number 1; the highest is {} at program line {}.", number,
                       worst.program_line);
  return fmt::format("{} {} to snag or tear. Worst: program line {}, snag number {}, {} web.", alarming,
                     alarming == 1 ? "spot is predicted" : "spots are predicted", worst.program_line, number,
                     shown.length(worst.question.web.w_mm));
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

std::string reason_of(const Spot& spot, const Shown& shown) {
  if (!spot.reasons.empty()) {
    const std::string& first = spot.reasons.front();
    const auto change = std::find_if(spot.reasons.begin(), spot.reasons.end(), [](const std::string& r) {
      return r.find("S would be") != std::string::npos;
    });
    return in_units(change == spot.reasons.end() || change == spot.reasons.begin() ? first
                                                                                   : first + "; " + *change,
                    shown);
  }
  return fmt::format("flutes reach {} up a web {} thick and {} tall", shown.length(spot.a_mm),
                     shown.length(spot.question.web.w_mm), shown.length(spot.question.web.h_mm));
}

} // namespace snagmap
