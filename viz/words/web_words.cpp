#include "viz/words/web_words.hpp"

#include <fmt/format.h>

namespace snagmap {
namespace {

std::string ordinal(int n) {
  static const char* const words[] = {"first",   "second", "third", "fourth", "fifth",    "sixth",
                                      "seventh", "eighth", "ninth", "tenth",  "eleventh", "twelfth"};
  if (n >= 1 && n <= 12)
    return words[n - 1];
  const int tail = n % 100;
  const char* end = tail > 10 && tail < 14 ? "th"
                    : n % 10 == 1          ? "st"
                    : n % 10 == 2          ? "nd"
                    : n % 10 == 3          ? "rd"
                                           : "th";
  return fmt::format("{}{}", n, end);
}

} // namespace

std::string words_of(const Whereabouts& place, const Shown& shown) {
  const std::string at =
      fmt::format("at X {}, Y {}", shown.number(place.at_mm.x, 0), shown.number(place.at_mm.y, 0));
  const char* what = place.slots ? "slot" : "pocket";
  switch (place.kind) {
  case Whereabouts::Kind::between:
    return fmt::format("between the {} and {} {} from the {}, {}", ordinal(place.first),
                       ordinal(place.second), what, to_text(place.from), at);
  case Whereabouts::Kind::at_edge:
    return fmt::format("between the sheet's {} edge and the first {}, {}", to_text(place.from), what, at);
  case Whereabouts::Kind::post:
    return "a post, " + at;
  case Whereabouts::Kind::plain:
    break;
  }
  return at;
}

std::string short_words(const Whereabouts& place, const Shown& shown) {
  const std::string at =
      fmt::format("X {} Y {}", shown.number(place.at_mm.x, 0), shown.number(place.at_mm.y, 0));
  const char* what = place.slots ? "slot" : "pocket";
  switch (place.kind) {
  case Whereabouts::Kind::between:
    return fmt::format("{}s {}-{} from {}, {}", what, place.first, place.second, to_text(place.from), at);
  case Whereabouts::Kind::at_edge:
    return fmt::format("{} edge and first {}, {}", to_text(place.from), what, at);
  case Whereabouts::Kind::post:
    return "post, " + at;
  case Whereabouts::Kind::plain:
    break;
  }
  return at;
}

std::string decided_by(const Spot& spot, const Shown& shown) {
  for (const Reason& reason : spot.reasons)
    if (const auto* flutes = std::get_if<reason::FlutesPastPass>(&reason); flutes && flutes->s_without < 1)
      return fmt::format("long flutes: they reach {} up it, {} past the pass", shown.length(flutes->up_mm, 1),
                         shown.length(flutes->past_mm, 1));
  for (const Reason& reason : spot.reasons) {
    if (const auto* slender = std::get_if<reason::Slender>(&reason))
      return fmt::format("its shape: {:.1f} times as high as thick", slender->height_over_thickness);
    if (const auto* end = std::get_if<reason::FreeEndNear>(&reason))
      return fmt::format("a free end {} away", shown.length(end->away_mm, 1));
  }
  return fmt::format("{} thick, {} high, flutes reach {} up it", shown.length(spot.question.web.w_mm),
                     shown.length(spot.question.web.h_mm), shown.length(spot.a_mm));
}

std::vector<std::string> cleared_words(const WebRow& row, const Shown& shown) {
  std::vector<std::string> words = row.cleared_by;
  if (row.snags && row.least_w_mm > 0)
    words.push_back(fmt::format("{} thick", shown.length(row.least_w_mm, 1)));
  return words;
}

} // namespace snagmap
