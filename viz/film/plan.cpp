#include "viz/film/plan.hpp"

#include "models/base/quantity.hpp"
#include "viz/words/clock.hpp"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace snagmap {

int FilmPlan::frames() const {
  return std::max(2, static_cast<int>(std::lround((to_s - from_s) / speed * kFilmRate)) + 1);
}

double FilmPlan::time_s(int frame) const {
  return std::min(to_s, from_s + (to_s - from_s) * frame / (frames() - 1));
}

Outcome<double> parse_clock(const std::string& text) {
  if (text.find(':') == std::string::npos)
    return parse_quantity(text, Dimension::time);
  double seconds = 0;
  int parts = 0;
  for (std::size_t at = 0; at <= text.size(); ++parts) {
    const std::size_t end = std::min(text.find(':', at), text.size());
    const std::string part = text.substr(at, end - at);
    if (part.empty() || part.size() > 4 || part.find_first_not_of("0123456789") != std::string::npos ||
        (parts > 0 && std::stoi(part) > 59))
      return Fault("\"" + text + "\" is no time", "such as \"3:10\", \"1:02:03\" or \"190 s\"");
    seconds = 60 * seconds + std::stoi(part);
    at = end + 1;
  }
  if (parts > 3)
    return Fault("\"" + text + "\" is no time", "such as \"3:10\", \"1:02:03\" or \"190 s\"");
  return seconds;
}

Outcome<FilmPlan> plan_film(const Preview& preview, const FilmAsked& asked) {
  const double total_s = preview.motion.total_s();
  FilmPlan plan;
  plan.width = asked.width, plan.height = asked.height;
  plan.from_s = 0, plan.to_s = total_s;
  if (asked.web >= 0) {
    for (std::size_t i = preview.spots.size(); i-- > 0;) // worst first: the last that is set
      if (preview.spots[i].web == asked.web)
        plan.spot = static_cast<int>(i);
    if (plan.spot < 0)
      return Fault(fmt::format("--web {}: there is no spot of such a web", asked.web),
                   "the numbers stand on the sheet and in the table of webs");
    const double at = preview.spots[static_cast<std::size_t>(plan.spot)].time_s;
    plan.from_s = std::max(0.0, at - kRoundAWeb_s), plan.to_s = std::min(total_s, at + kRoundAWeb_s);
  }
  plan.from_s = asked.from_s.value_or(plan.from_s), plan.to_s = asked.to_s.value_or(plan.to_s);
  if (plan.from_s < 0 || plan.to_s > total_s + 1 || plan.from_s >= plan.to_s) // a clock rounds to the second
    return Fault(fmt::format("{} to {} is no part of the program, which takes {}", clock_text(plan.from_s),
                             clock_text(plan.to_s), clock_text(total_s)),
                 "--from before --to, both within it");
  plan.to_s = std::min(plan.to_s, total_s);
  const double length_s = plan.to_s - plan.from_s;
  plan.speed = asked.speed > 0 ? asked.speed : asked.web >= 0 ? 1 : std::max(1.0, length_s / kUsualFilm_s);
  if (length_s / plan.speed > kLongestFilm_s)
    return Fault(fmt::format("a film of {}", clock_text(length_s / plan.speed)),
                 fmt::format("a greater --speed: at least {:.0f}", std::ceil(length_s / kLongestFilm_s)));
  return plan;
}

} // namespace snagmap
