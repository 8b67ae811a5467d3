#include "viz/draw/page.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace snagmap {

namespace {

/// Nothing but the chart, in type of 8.3 to 9.2 pt: 1 pt is 0.3528 mm.
void make_plain(Page& page, std::size_t legend_lines) {
  constexpr double kType_mm = 3.25; // 9.2 pt, of what is 20 units high
  Drawing& d = page.drawing;
  page.plain = true;
  d.width_mm = kPlainWide_mm;
  const double u = page.u = kType_mm / 20 * d.width / kPlainWide_mm;
  page.low = {4 * u, 8 * u + 26 * u * static_cast<double>(legend_lines)};
  page.high = {d.width - 12 * u, d.height + 14 * u}; // charts leave 74 units under them
  page.column_x = 40 * u, page.column_y = 4 * u;
  page.column_width = d.width - 50 * u;
}

} // namespace

Page make_page(const PictureOptions& options, const std::string& title, const std::string& finding,
               const std::string& description, std::size_t legend_lines) {
  Page page;
  Drawing& d = page.drawing;
  d.width = options.width;
  d.height = options.height;
  d.background = options.background;
  d.title = title;
  d.description = description;
  if (options.plain) {
    make_plain(page, legend_lines);
    return page;
  }
  const double u = page.u = std::min(d.width / 1600.0, d.height / 1000.0);
  const double margin = 36 * u, wide = d.width - 2 * margin;
  d.text({margin, 58 * u}, fitted(title, 34 * u, wide, true), 34 * u, Anchor::start, kInk, true);
  d.text({margin, 96 * u}, fitted(finding, 22 * u, wide), 22 * u);
  d.line({{margin, 114 * u}, {d.width - margin, 114 * u}}, kPale, 1.5 * u);
  d.text({margin, d.height - 18 * u},
         fitted("A prediction with stated uncertainty, not a promise: the machine's manual, local codes and "
                "trained "
                "practice come first.",
                16 * u, wide - 220 * u),
         16 * u, Anchor::start, kPale);
  d.text({d.width - margin, d.height - 18 * u}, "snagmap " SNAGMAP_VERSION, 16 * u, Anchor::end, kPale);
  page.column_width = 330 * u;
  page.column_x = d.width - margin - page.column_width;
  page.column_y = 150 * u;
  page.low = {margin, 132 * u};
  page.high = {page.column_x - 24 * u, d.height - 52 * u};
  return page;
}

void Page::heading(const std::string& words) {
  if (plain)
    return;
  for (const std::string& line : wrapped(words, 20 * u, column_width)) {
    drawing.text({column_x, column_y + 16 * u}, line, 20 * u, Anchor::start, kInk, true);
    column_y += 26 * u;
  }
  column_y += 4 * u;
}

void Page::note(const std::string& words, Colour colour, bool bold) {
  if (plain)
    return;
  for (const std::string& line : wrapped(words, 18 * u * (bold ? 1.06 : 1), column_width)) {
    drawing.text({column_x, column_y + 15 * u}, line, 18 * u, Anchor::start, colour, bold);
    column_y += 24 * u;
  }
}

void Page::swatch(Colour colour, const std::string& words) {
  drawing.rectangle({column_x, column_y}, {column_x + 30 * u, column_y + 18 * u}, colour);
  drawing.frame({column_x, column_y}, {column_x + 30 * u, column_y + 18 * u}, kPale, u);
  for (const std::string& line : wrapped(words, 18 * u, column_width - 42 * u)) {
    drawing.text({column_x + 42 * u, column_y + 15 * u}, line, 18 * u);
    column_y += 24 * u;
  }
  column_y += 4 * u;
}

void Page::colour_bar(const std::string& title, double low_value, double high_value,
                      Colour (*map)(double share), const std::string& alarm, double tall_px) {
  heading(title);
  const double bar = 34 * u, tall = tall_px * u, extra = alarm.empty() ? 0 : 40 * u;
  const Vec2 top{column_x, column_y + extra + 4 * u};
  constexpr int kSteps = 64;
  for (int i = 0; i < kSteps; ++i)
    drawing.rectangle({top.x, top.y + tall * (1 - (i + 1.0) / kSteps)},
                      {top.x + bar, top.y + tall * (1 - static_cast<double>(i) / kSteps)},
                      map((i + 0.5) / kSteps));
  if (extra > 0) {
    drawing.rectangle({top.x, top.y - extra}, {top.x + bar, top.y}, kAlarm);
    const auto lines = wrapped(alarm, 18 * u, column_width - bar - 16 * u);
    for (std::size_t i = 0; i < lines.size(); ++i)
      drawing.text({top.x + bar + 14 * u, top.y - extra + (16 + 21.0 * static_cast<double>(i)) * u}, lines[i],
                   18 * u, Anchor::start, kAlarm, true);
  }
  drawing.frame({top.x, top.y - extra}, {top.x + bar, top.y + tall}, kInk, u);
  const double step = round_step(high_value - low_value, 5);
  for (double v = std::ceil(low_value / step - 1e-9) * step; v <= high_value + step * 1e-6; v += step) {
    const double y = top.y + tall * (1 - (v - low_value) / (high_value - low_value));
    if (extra > 0 && y < top.y + 10 * u)
      continue; // the alarm's words stand there
    drawing.line({{top.x + bar, y}, {top.x + bar + 8 * u, y}}, kInk, 1.5 * u);
    drawing.text({top.x + bar + 14 * u, y + 6 * u}, tick_text(v, step), 18 * u);
  }
  column_y = top.y + tall + 18 * u;
}

void draw_axes(Page& page, const Plot& plot, const std::string& x_words, const std::string& y_words,
               bool x_numbers) {
  Drawing& d = page.drawing;
  const double u = page.u;
  const double sx = round_step(plot.x1 - plot.x0, 10), sy = round_step(plot.y1 - plot.y0, 6);
  for (double x = std::ceil(plot.x0 / sx - 1e-9) * sx; x <= plot.x1 + sx * 1e-6; x += sx) {
    const Vec2 p = plot(x, plot.y0);
    d.line({p, {p.x, plot.low.y}}, Colour{222, 226, 230}, u);
    if (x_numbers)
      d.text({p.x, p.y + 24 * u}, tick_text(x, sx), 18 * u, Anchor::middle);
  }
  for (double y = std::ceil(plot.y0 / sy - 1e-9) * sy; y <= plot.y1 + sy * 1e-6; y += sy) {
    const Vec2 p = plot(plot.x0, y);
    d.line({p, {plot.high.x, p.y}}, Colour{222, 226, 230}, u);
    d.text({p.x - 10 * u, p.y + 6 * u}, tick_text(y, sy), 18 * u, Anchor::end);
  }
  d.frame(plot.low, plot.high, kInk, 1.5 * u);
  if (!x_words.empty())
    d.text({0.5 * (plot.low.x + plot.high.x), plot.high.y + 52 * u}, x_words, 20 * u, Anchor::middle);
  d.text({plot.low.x - 62 * u, 0.5 * (plot.low.y + plot.high.y)}, y_words, 20 * u, Anchor::middle, kInk,
         false, true);
}

void draw_scale_bar(Page& page, Vec2 left, double px_per_mm, const Shown& shown) {
  const double unit_mm = shown.unit_mm();
  const double most = 200 * page.u / (px_per_mm * unit_mm); // the bar's greatest length, in shown units
  const double step = round_step(most, 1);
  const double length = step > most * 1.0001 ? step / (std::fmod(std::log10(step), 1) > 0.5 ? 2.5 : 2) : step;
  const double px = length * unit_mm * px_per_mm, u = page.u;
  Drawing& d = page.drawing;
  d.rectangle(left - Vec2{0, 8 * u}, left + Vec2{px / 2, 0}, kInk);
  d.frame(left - Vec2{0, 8 * u}, left + Vec2{px, 0}, kInk, 1.5 * u);
  d.text({left.x + px + 10 * u, left.y + 2 * u}, fmt::format("{:g} {}", length, shown.unit()), 18 * u);
}

void draw_badges(Page& page, const std::vector<Badge>& badges) {
  const double u = page.u, r = 17 * u;
  std::vector<Vec2> middles;
  const auto free_at = [&](Vec2 p) {
    if (p.x < page.low.x + r || p.x > page.high.x - r || p.y < page.low.y + r || p.y > page.high.y - r)
      return false;
    return std::none_of(middles.begin(), middles.end(), [&](Vec2 q) { return norm(q - p) < 2.6 * r; }) &&
           std::none_of(badges.begin(), badges.end(),
                        [&](const Badge& other) { return norm(other.place - p) < 1.7 * r; });
  };
  for (const Badge& badge : badges) {
    Vec2 middle = badge.place + Vec2{0, -50 * u};
    bool found = false;
    for (const double far : {50.0, 74.0, 100.0, 130.0, 165.0})
      for (int k = 0; k < 12 && !found; ++k) {
        const double angle =
            (60 + 30 * (k % 2 ? -(k + 1) / 2 : k / 2)) * M_PI / 180; // up and right first, then round
        const Vec2 p = badge.place + far * u * Vec2{std::cos(angle), -std::sin(angle)};
        if (!free_at(p))
          continue;
        middle = p;
        found = true;
      }
    middles.push_back(middle);
  }
  Drawing& d = page.drawing;
  for (std::size_t i = 0; i < badges.size(); ++i) {
    d.line({badges[i].place, middles[i]}, kInk, 2 * u);
    d.disc(badges[i].place, 4 * u, kInk);
  }
  for (std::size_t i = 0; i < badges.size(); ++i) {
    const Colour colour = badges[i].colour;
    d.disc(middles[i], r + 2.5 * u, Colour{255, 255, 255});
    d.disc(middles[i], r, colour);
    const bool dark = 0.3 * colour.r + 0.59 * colour.g + 0.11 * colour.b < 140;
    d.text({middles[i].x, middles[i].y + 7 * u}, badges[i].words, 20 * u, Anchor::middle,
           dark ? Colour{255, 255, 255} : kInk, true);
  }
}

void draw_dimension(Page& page, Vec2 a, Vec2 b, const std::string& words, double side_px) {
  const double u = page.u;
  Drawing& d = page.drawing;
  const Vec2 along = (1 / std::max(norm(b - a), 1e-9)) * (b - a), tick = (7 * u) * left_of(along);
  d.line({a, b}, kInk, 1.5 * u);
  d.line({a - tick, a + tick}, kInk, 1.5 * u);
  d.line({b - tick, b + tick}, kInk, 1.5 * u);
  const Vec2 middle = 0.5 * (a + b);
  if (std::abs(along.x) > 0.7)
    d.text({middle.x, middle.y + side_px + (side_px > 0 ? 14 * u : 0)}, words, 18 * u, Anchor::middle);
  else
    d.text({middle.x + side_px, middle.y + 6 * u}, words, 18 * u, side_px > 0 ? Anchor::start : Anchor::end);
}

} // namespace snagmap
