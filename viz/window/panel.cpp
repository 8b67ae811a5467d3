#include "viz/window/panel.hpp"

#include "viz/words/shown.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

const char* name_of(Colouring colouring) {
  static constexpr const char* kNames[] = {"level", "snag number S", "web thickness", "lean"};
  return kNames[static_cast<int>(colouring)];
}

} // namespace

Colour coloured(Colouring colouring, const Preview& preview, int sample, Level level, double thickest_mm) {
  if (sample < 0)
    return kFoam;
  const PathSample& s = preview.samples[static_cast<std::size_t>(sample)];
  switch (colouring) {
  case Colouring::level:
    return level_colour(level);
  case Colouring::snag:
    return snag_colour(s.s);
  case Colouring::thickness:
    return cividis(1 - s.w_mm / std::max(thickest_mm, 1e-6));
  case Colouring::lean:
    break;
  }
  // Past the edge there is no lean to show.
  return s.s >= 1 ? kAlarm : cividis(std::abs(s.lean_mm) / std::max(2 * preview.scene.tolerance_mm, 1e-6));
}

std::vector<std::string> words_of(const Preview& preview, int sample, Level level) {
  const Shown shown{preview.scene.show_inch};
  const PathSample& s = preview.samples[static_cast<std::size_t>(sample)];
  const std::int32_t line = preview.path.moves[s.move].line;
  double length = 0;
  for (const WebFound& web : preview.webs)
    if (web.id == s.web)
      length = web.length_mm;
  std::vector<std::string> words{fmt::format("S {}: {}", snag_text(s.s), to_text(level)),
                                 "w " + shown.length(s.w_mm), "h " + shown.length(s.top_z_mm - s.root_z_mm)};
  if (length > 0)
    words.push_back("L " + shown.length(length));
  words.push_back(s.s < 1 ? "lean " + shown.length(s.lean_mm) : "lean: none past S = 1");
  words.push_back(fmt::format("program line {}", line));
  words.push_back("at " + time_text(s.time_s));
  return words;
}

Drawing window_panel(const Preview& preview, const LookState& state, const std::string& lean_words, int width,
                     int height) {
  Drawing d;
  d.width = width;
  d.height = height;
  const double u = std::max(0.75, std::min(width / 1200.0, height / 750.0));
  const Shown shown{preview.scene.show_inch};
  const auto box = [&](Vec2 low, Vec2 high) { d.rectangle(low, high, Colour{255, 255, 255, 215}); };
  // Where we are.
  const std::string place = fmt::format("{} of {}   line {}   move {} of {}", time_text(state.time_s),
                                        time_text(preview.motion.total_s()), state.program_line,
                                        std::min<std::size_t>(state.move + 1, preview.path.moves.size()),
                                        preview.path.moves.size());
  box({0, 0}, {static_cast<double>(width), 38 * u});
  d.text({14 * u, 26 * u}, fitted(place, 18 * u, 0.6 * width, true), 18 * u, Anchor::start, kInk, true);
  d.text({width - 14 * u, 26 * u}, state.playing ? "playing: space stops   F1 help" : "space plays   F1 help",
         16 * u, Anchor::end, kPale);
  // The wall picked.
  double y = 66 * u;
  if (!state.picked.empty()) {
    double wide = 0;
    for (const std::string& words : state.picked)
      wide = std::max(wide, text_width(words, 17 * u, true));
    box({6 * u, 46 * u}, {26 * u + wide, 58 * u + 23 * u * static_cast<double>(state.picked.size())});
    for (std::size_t i = 0; i < state.picked.size(); ++i, y += 23 * u)
      d.text({14 * u, y}, state.picked[i], 17 * u, Anchor::start, kInk, i == 0);
  }
  if (!lean_words.empty())
    d.text({14 * u, y + 12 * u}, lean_words, 16 * u);
  // Legend, right.
  const double x = width - 236 * u;
  box({x - 10 * u, 46 * u}, {static_cast<double>(width), 232 * u});
  d.text({x, 68 * u}, fmt::format("{}  (keys 1 to 4)", name_of(state.colouring)), 15 * u, Anchor::start, kInk,
         true);
  const auto swatch = [&](int row, Colour colour, const std::string& words) {
    const double top = (80 + 24.0 * row) * u;
    d.rectangle({x, top}, {x + 24 * u, top + 17 * u}, colour);
    d.text({x + 32 * u, top + 14 * u}, words, 15 * u);
  };
  double thickest = 0;
  for (const PathSample& s : preview.samples)
    thickest = std::max(thickest, static_cast<double>(s.web >= 0 ? s.w_mm : 0));
  switch (state.colouring) {
  case Colouring::level:
    swatch(0, kAlarm, "snags or tears");
    swatch(1, level_colour(Level::leans), "leans");
    swatch(2, level_colour(Level::firm), "firm");
    break;
  case Colouring::snag:
    swatch(0, kAlarm, "1 and more");
    for (int i = 0; i < 5; ++i)
      swatch(i + 1, snag_colour(1 - 0.001 - 0.25 * i),
             i == 0 ? "just under 1" : fmt::format("{:.2f}", 1 - 0.25 * i));
    break;
  case Colouring::thickness:
    for (int i = 0; i < 5; ++i)
      swatch(i, cividis(1 - 0.25 * i), shown.length(thickest * 0.25 * i));
    break;
  case Colouring::lean:
    swatch(0, kAlarm, "past S = 1: none");
    for (int i = 0; i < 5; ++i)
      swatch(i + 1, cividis(1 - 0.25 * i), shown.length(2 * preview.scene.tolerance_mm * (1 - 0.25 * i)));
    break;
  }
  // Spots along the slider.
  const double total = std::max(preview.motion.total_s(), 1e-9), rail = height * (1 - kSliderHeight) - 16 * u;
  for (std::size_t i = preview.spots.size(); i-- > 0;) {
    const Spot& spot = preview.spots[i];
    const double share = kSliderInset + (1 - 2 * kSliderInset) * spot.time_s / total;
    const double at = width * (kSliderLow + (kSliderHigh - kSliderLow) * share);
    d.rectangle({at - 1.5 * u, rail - 14 * u}, {at + 1.5 * u, rail}, level_colour(spot.level()));
  }
  if (state.help) {
    static constexpr const char* kHelp[] = {"space          play or stop",
                                            "Left, Right    back or on by a hundredth",
                                            ", and .        back or on by one move",
                                            "Home, End      start or end",
                                            "n, p           next or previous spot in time",
                                            "w              the worst spot, then the next worst",
                                            "1 2 3 4        level, S, thickness, lean",
                                            "+ and -        lean larger or smaller on screen",
                                            "a d Up Down    turn the view",
                                            "i o            nearer, farther",
                                            "t, f           from above, whole sheet",
                                            "click          read a wall",
                                            "s              save the picture",
                                            "F1             this list",
                                            "q              close"};
    const double top = 120 * u, left = width / 2.0 - 230 * u;
    d.rectangle({left - 20 * u, top - 34 * u}, {left + 480 * u, top + 25 * u * std::size(kHelp)},
                Colour{255, 255, 255, 240});
    for (std::size_t i = 0; i < std::size(kHelp); ++i) {
      const std::string line = kHelp[i];
      d.text({left, top + 25 * u * static_cast<double>(i)}, line.substr(0, line.find("  ")), 17 * u,
             Anchor::start, kInk, true);
      d.text({left + 150 * u, top + 25 * u * static_cast<double>(i)}, line.substr(15), 17 * u);
    }
  }
  return d;
}

} // namespace snagmap
