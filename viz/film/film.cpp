#include "viz/film/film.hpp"

#include "sim/answer/answer.hpp"
#include "viz/words/clock.hpp"
#include "viz/words/shown.hpp"
#include "viz/words/spot_words.hpp"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <set>

namespace snagmap {
namespace {

constexpr double kNear_mm = 45; ///< what is seen round a web, to each side
constexpr double kLit_s = 1.2;  ///< of film: how long a spot shines when the cutter meets it

/// What the film looks at: the sheet, or the neighbourhood of its web.
Box3 seen(const Preview& preview, const FilmPlan& plan) {
  if (plan.spot < 0)
    return preview.scene.sheet;
  const Vec3 at = preview.spots[static_cast<std::size_t>(plan.spot)].place_mm;
  const Box3& sheet = preview.scene.sheet;
  return {
      {std::max(sheet.low.x, at.x - kNear_mm), std::max(sheet.low.y, at.y - kNear_mm), sheet.low.z},
      {std::min(sheet.high.x, at.x + kNear_mm), std::min(sheet.high.y, at.y + kNear_mm), sheet.high.z + 10}};
}

} // namespace

Drawing film_panel(const Preview& preview, const FilmPlan& plan, const LookState& state,
                   const LookWindow& window, const std::string& lean_words) {
  Drawing d;
  d.width = plan.width, d.height = plan.height;
  const double u = std::max(0.5, std::min(d.width / 1280.0, d.height / 720.0)), h = d.height;
  const Colour paper{255, 255, 255, 215};
  // Webs that the cutter has met, worst spot of each, in the order in which it met them.
  std::vector<const Spot*> met;
  std::set<int> webs;
  for (const Spot& spot : preview.spots) // worst first
    if (spot.s() >= 1 && webs.insert(spot.web).second && spot.time_s <= state.time_s &&
        spot.time_s >= plan.from_s - 1e-9)
      met.push_back(&spot);
  std::sort(met.begin(), met.end(), [](const Spot* a, const Spot* b) { return a->time_s < b->time_s; });
  for (const Spot* spot : met) {
    const Vec2 low =
        window.pixel_of({spot->place_mm.x, spot->place_mm.y, spot->place_mm.z + spot->question.web.h_mm});
    const Vec2 at{low.x, h - low.y};
    const double since_s = (state.time_s - spot->time_s) / plan.speed;
    if (since_s < kLit_s)
      d.disc(at, (15 + 22 * (1 - since_s / kLit_s)) * u, Colour{kAlarm.r, kAlarm.g, kAlarm.b, 90});
    d.disc(at, 13 * u, Colour{255, 255, 255}), d.disc(at, 11.5 * u, kAlarm);
    d.text({at.x, at.y + 5.5 * u}, std::to_string(spot->web), 15 * u, Anchor::middle, Colour{255, 255, 255},
           true);
  }
  d.rectangle({0, 0}, {static_cast<double>(d.width), 44 * u}, paper);
  const std::string title = preview.scene.title.empty() ? "snagmap" : preview.scene.title;
  d.text({18 * u, 30 * u}, fitted(title, 22 * u, 0.55 * d.width, true), 22 * u, Anchor::start, kInk, true);
  d.text({d.width - 18 * u, 30 * u},
         met.empty()
             ? std::string("no web met that snags")
             : fmt::format("{} {} met", met.size(), met.size() == 1 ? "web that snags" : "webs that snag"),
         20 * u, Anchor::end, met.empty() ? kPale : kAlarm, !met.empty());
  d.rectangle({0, h - 48 * u}, {static_cast<double>(d.width), h}, paper);
  d.text({18 * u, h - 17 * u}, fmt::format("{}   line {}", clock_text(state.time_s), state.program_line),
         24 * u, Anchor::start, kInk, true);
  d.text({0.36 * d.width, h - 17 * u},
         plan.speed == 1 ? std::string() : fmt::format("{:.3g} times as fast", plan.speed), 18 * u,
         Anchor::start, kPale);
  d.text({d.width - 18 * u, h - 17 * u},
         lean_words.empty() ? "red: S of 1 and more, predicted to snag" : lean_words, 18 * u, Anchor::end,
         kPale);
  const double share = std::clamp((state.time_s - plan.from_s) / (plan.to_s - plan.from_s), 0.0, 1.0);
  d.rectangle({0, h - 4 * u}, {share * d.width, h}, kFlutes);
  return d;
}

std::optional<Fault> draw_film(const Preview& preview, const FilmPlan& plan,
                               const std::function<std::optional<Fault>(const Pixels&)>& take,
                               const std::function<bool(int frames)>& done) {
  LookWindow window(preview, plan.width, plan.height, true);
  window.film([&](const LookState& state, const std::string& lean_words) {
    return film_panel(preview, plan, state, window, lean_words);
  });
  window.look_at(seen(preview, plan));
  for (int frame = 0; frame < plan.frames(); ++frame) {
    // Near a web its edges are seen; of the whole sheet what dragging shows is as fine as the frame.
    window.go_to(plan.time_s(frame), plan.spot < 0);
    if (auto fault = take(window_pixels(window.window())))
      return fault;
    if (!done(frame + 1))
      return {};
  }
  return {};
}

} // namespace snagmap
