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
  words.push_back(fmt::format("web {}", s.web));
  return words;
}

namespace {

/// The panel while it is drawn; `u` is 1 in a window of 1200 x 750.
struct Panel {
  const Preview& preview;
  const LookState& state;
  Shown shown;
  Drawing drawing;
  double u;

  void box(Vec2 low, Vec2 high) { drawing.rectangle(low, high, Colour{255, 255, 255, 215}); }
};

void draw_place(Panel& panel) {
  Drawing& d = panel.drawing;
  const double u = panel.u, width = d.width;
  const LookState& state = panel.state;
  const std::size_t moves = panel.preview.path.moves.size();
  const std::string place = fmt::format("{} of {}   line {}   move {} of {}", time_text(state.time_s),
                                        time_text(panel.preview.motion.total_s()), state.program_line,
                                        std::min<std::size_t>(state.move + 1, moves), moves);
  panel.box({0, 0}, {width, 38 * u});
  d.text({14 * u, 26 * u}, fitted(place, 18 * u, 0.6 * width, true), 18 * u, Anchor::start, kInk, true);
  d.text({width - 14 * u, 26 * u}, state.playing ? "playing: space stops   F1 help" : "space plays   F1 help",
         16 * u, Anchor::end, kPale);
}

/// The wall picked, and below it how the lean is drawn.
void draw_picked(Panel& panel, const std::string& lean_words) {
  const double u = panel.u;
  const std::vector<std::string>& picked = panel.state.picked;
  double y = 66 * u;
  if (!picked.empty()) {
    double wide = 0;
    for (const std::string& words : picked)
      wide = std::max(wide, text_width(words, 17 * u, true));
    panel.box({6 * u, 46 * u}, {26 * u + wide, 58 * u + 23 * u * static_cast<double>(picked.size())});
    for (std::size_t i = 0; i < picked.size(); ++i, y += 23 * u)
      panel.drawing.text({14 * u, y}, picked[i], 17 * u, Anchor::start, kInk, i == 0);
  }
  if (!lean_words.empty())
    panel.drawing.text({14 * u, y + 12 * u}, lean_words, 16 * u);
}

struct Swatch {
  Colour colour;
  std::string words;
};

/// What the colours mean, brightest first.
std::vector<Swatch> swatches_of(const Panel& panel) {
  std::vector<Swatch> all;
  const auto fifths = [&](const auto& colour, const auto& words) {
    for (int i = 0; i < 5; ++i)
      all.push_back({colour(0.25 * i), words(0.25 * i)});
  };
  const auto darker = [](double down) { return cividis(1 - down); };
  switch (panel.state.colouring) {
  case Colouring::level:
    return {{kAlarm, "snags or tears"},
            {level_colour(Level::leans), "leans"},
            {level_colour(Level::firm), "firm"}};
  case Colouring::snag:
    all.push_back({kAlarm, "1 and more"});
    fifths([](double down) { return snag_colour(1 - 0.001 - down); },
           [](double down) {
             return down == 0 ? std::string("just under 1") : fmt::format("{:.2f}", 1 - down);
           });
    return all;
  case Colouring::thickness: {
    double thickest = 0;
    for (const PathSample& s : panel.preview.samples)
      thickest = std::max(thickest, static_cast<double>(s.web >= 0 ? s.w_mm : 0));
    fifths(darker, [&](double share) { return panel.shown.length(thickest * share); });
    return all;
  }
  case Colouring::lean:
    break;
  }
  all.push_back({kAlarm, "past S = 1: none"});
  fifths(darker,
         [&](double down) { return panel.shown.length(2 * panel.preview.scene.tolerance_mm * (1 - down)); });
  return all;
}

void draw_legend(Panel& panel) {
  Drawing& d = panel.drawing;
  const double u = panel.u, x = d.width - 236 * u;
  panel.box({x - 10 * u, 46 * u}, {static_cast<double>(d.width), 232 * u});
  d.text({x, 68 * u}, fmt::format("{}  (keys 1 to 4)", name_of(panel.state.colouring)), 15 * u, Anchor::start,
         kInk, true);
  double row = 0;
  for (const Swatch& swatch : swatches_of(panel)) {
    const double top = (80 + 24.0 * row++) * u;
    d.rectangle({x, top}, {x + 24 * u, top + 17 * u}, swatch.colour);
    d.text({x + 32 * u, top + 14 * u}, swatch.words, 15 * u);
  }
}

void draw_spots_along_slider(Panel& panel) {
  Drawing& d = panel.drawing;
  const Preview& preview = panel.preview;
  const double u = panel.u, total = std::max(preview.motion.total_s(), 1e-9),
               rail = d.height * (1 - kSliderHeight) - 16 * u;
  for (std::size_t i = preview.spots.size(); i-- > 0;) {
    const Spot& spot = preview.spots[i];
    const double share = kSliderInset + (1 - 2 * kSliderInset) * spot.time_s / total;
    const double at = d.width * (kSliderLow + (kSliderHigh - kSliderLow) * share);
    d.rectangle({at - 1.5 * u, rail - 14 * u}, {at + 1.5 * u, rail}, level_colour(spot.level()));
  }
}

void draw_help(Panel& panel) {
  struct Key {
    const char *keys, *does;
  };
  static constexpr Key kHelp[] = {{"space", "play or stop"},
                                  {"Left, Right", "back or on by a hundredth"},
                                  {", and .", "back or on by one move"},
                                  {"Home, End", "start or end"},
                                  {"n, p", "next or previous spot in time"},
                                  {"w", "the worst spot, then the next worst"},
                                  {"1 2 3 4", "level, S, thickness, lean"},
                                  {"+ and -", "lean larger or smaller on screen"},
                                  {"a d Up Down", "turn the view"},
                                  {"i o", "nearer, farther"},
                                  {"t, f", "from above, whole sheet"},
                                  {"click", "read a wall"},
                                  {"s", "save the picture"},
                                  {"F1", "this list"},
                                  {"q", "close"}};
  Drawing& d = panel.drawing;
  const double u = panel.u, top = 120 * u, left = d.width / 2.0 - 230 * u;
  d.rectangle({left - 20 * u, top - 34 * u}, {left + 480 * u, top + 25 * u * std::size(kHelp)},
              Colour{255, 255, 255, 240});
  for (std::size_t i = 0; i < std::size(kHelp); ++i) {
    const double y = top + 25 * u * static_cast<double>(i);
    d.text({left, y}, kHelp[i].keys, 17 * u, Anchor::start, kInk, true);
    d.text({left + 150 * u, y}, kHelp[i].does, 17 * u);
  }
}

} // namespace

Drawing window_panel(const Preview& preview, const LookState& state, const std::string& lean_words, int width,
                     int height) {
  Panel panel{preview,
              state,
              Shown{preview.scene.show_inch},
              {},
              std::max(0.75, std::min(width / 1200.0, height / 750.0))};
  panel.drawing.width = width;
  panel.drawing.height = height;
  draw_place(panel);
  draw_picked(panel, lean_words);
  draw_legend(panel);
  draw_spots_along_slider(panel);
  if (state.help)
    draw_help(panel);
  return std::move(panel.drawing);
}

} // namespace snagmap
