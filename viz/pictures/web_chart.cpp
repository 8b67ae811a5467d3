#include "viz/pictures/web_chart.hpp"

#include "viz/draw/page.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <fmt/format.h>

namespace snagmap {
namespace {

constexpr double kLeastS = 0.05, kMostS = 50; // the axis goes no further
constexpr double kLabels = 150;               // units left of the axis
constexpr double kRow = 30;                   // units of a plain chart

Colour case_colour(std::size_t n, std::size_t count) {
  return cividis(count < 2 ? 0.15 : 0.05 + 0.8 * static_cast<double>(n) / static_cast<double>(count - 1));
}

/// Told apart without colour: filled and open discs, squares, diamonds.
void draw_mark(Drawing& d, Vec2 at, double r, std::size_t n, Colour colour) {
  const auto square = [&](double by, Colour fill) {
    d.rectangle(at - Vec2{by, by}, at + Vec2{by, by}, fill);
  };
  const auto diamond = [&](double by, Colour fill) {
    d.shapes.emplace_back(
        std::in_place_type<Area>,
        Area{{at + Vec2{by, 0}, at + Vec2{0, by}, at - Vec2{by, 0}, at - Vec2{0, by}}, fill});
  };
  constexpr Colour kPaper{255, 255, 255};
  switch (n % 6) {
  case 0:
  case 1:
    d.disc(at, r, colour);
    if (n % 6 == 1)
      d.disc(at, 0.55 * r, kPaper);
    break;
  case 2:
  case 3:
    square(0.9 * r, colour);
    if (n % 6 == 3)
      square(0.5 * r, kPaper);
    break;
  default:
    diamond(1.25 * r, colour);
    if (n % 6 == 5)
      diamond(0.7 * r, kPaper);
  }
}

/// Logarithmic, from the next of 0.1, 0.2, 0.5 ... under the least to the next over the greatest.
struct SnagAxis {
  Plot plot;
  double x(double s) const { return plot(std::log10(std::clamp(s, least, most)), 0).x; }
  double least = 0.5, most = 2;
};

double round_under(double s) {
  const double power = std::pow(10, std::floor(std::log10(s)));
  for (const double digit : {5.0, 2.0, 1.0})
    if (digit * power <= s * (1 + 1e-12))
      return digit * power;
  return power;
}

SnagAxis axis_of(const std::vector<ComparedWeb>& webs, Vec2 low, Vec2 high) {
  SnagAxis axis;
  for (const ComparedWeb& web : webs)
    for (const WebInCase& one : web.cases)
      if (one.seen)
        axis.least = std::min(axis.least, one.s_low), axis.most = std::max(axis.most, one.s_high);
  axis.least = round_under(std::max(axis.least, kLeastS));
  axis.most = std::min(axis.most, kMostS);
  axis.plot.low = low, axis.plot.high = high;
  axis.plot.x0 = std::log10(axis.least), axis.plot.x1 = std::log10(axis.most * 1.05);
  axis.plot.y1 = static_cast<double>(std::max<std::size_t>(webs.size(), 1));
  return axis;
}

void draw_axis(Page& page, const SnagAxis& axis) {
  Drawing& d = page.drawing;
  const double u = page.u;
  const Plot& plot = axis.plot;
  if (axis.most > 1)
    d.rectangle({axis.x(1), plot.low.y}, plot.high, Colour{kAlarm.r, kAlarm.g, kAlarm.b, 26});
  for (double decade = 0.01; decade < 1000; decade *= 10)
    for (const double digit : {1.0, 2.0, 5.0}) {
      const double s = digit * decade;
      if (s < axis.least * (1 - 1e-9) || s > axis.most * (1 + 1e-9))
        continue;
      d.line({{axis.x(s), plot.low.y}, {axis.x(s), plot.high.y}}, Colour{222, 226, 230}, u);
      d.text({axis.x(s), plot.high.y + 24 * u}, fmt::format("{:g}", std::round(1000 * s) / 1000), 18 * u,
             Anchor::middle);
    }
  if (axis.most > 1)
    d.line({{axis.x(1), plot.low.y}, {axis.x(1), plot.high.y}}, kAlarm, 2.5 * u);
  d.frame(plot.low, plot.high, kInk, 1.5 * u);
  d.text({0.5 * (plot.low.x + plot.high.x), plot.high.y + 52 * u}, "snag number S; from 1 on a web snags",
         18 * u, Anchor::middle);
}

void draw_row(Page& page, const SnagAxis& axis, const ComparedWeb& web, double y, const Shown& shown) {
  Drawing& d = page.drawing;
  const double u = page.u;
  const auto widest =
      std::find_if(web.cases.begin(), web.cases.end(), [](const WebInCase& c) { return c.seen; });
  const double at_y = axis.plot(0, y).y;
  d.text({axis.plot.low.x - 8 * u, at_y + 6 * u},
         widest == web.cases.end() ? std::to_string(web.web)
                                   : fmt::format("{}: {}", web.web, shown.number(widest->w_mm, 1)),
         18 * u, Anchor::end);
  const std::size_t count = std::min(web.cases.size(), kMostCasesDrawn);
  const double apart = std::min(7 * u, 0.6 * (axis.plot.high.y - axis.plot.low.y) / axis.plot.y1 / count);
  for (std::size_t i = 0; i < count; ++i) {
    const WebInCase& one = web.cases[i];
    if (!one.seen)
      continue;
    const double own = at_y + (static_cast<double>(i) - 0.5 * static_cast<double>(count - 1)) * apart;
    const Colour colour = case_colour(i, count);
    d.line({{axis.x(one.s_low), own}, {axis.x(one.s_high), own}}, colour, 2 * u);
    draw_mark(d, {axis.x(one.s), own}, 6 * u, i, colour);
  }
}

void draw_legend(Page& page, const Comparison& comparison) {
  const std::size_t count = std::min(comparison.cases.size(), kMostCasesDrawn);
  for (std::size_t i = 0; i < count; ++i) {
    const Vec2 at{page.column_x + 10 * page.u, page.column_y + 9 * page.u};
    page.drawing.line({at - Vec2{12 * page.u, 0}, at + Vec2{12 * page.u, 0}}, case_colour(i, count),
                      2 * page.u);
    draw_mark(page.drawing, at, 6 * page.u, i, case_colour(i, count));
    page.drawing.text({page.column_x + 30 * page.u, page.column_y + 15 * page.u},
                      fitted(comparison.cases[i].name, 18 * page.u, page.column_width - 34 * page.u),
                      18 * page.u);
    page.column_y += 26 * page.u;
  }
}

std::string change_words(const Comparison& comparison) {
  std::string words;
  for (const ComparedCase& one : comparison.cases)
    words += fmt::format("{}{}: {} web{} snag", words.empty() ? "" : "; ", one.name,
                         one.numbers.webs_snagging, one.numbers.webs_snagging == 1 ? "" : "s");
  return words + ".";
}

} // namespace

Drawing web_chart(const Comparison& comparison, const Shown& shown, const PictureOptions& wanted) {
  const std::size_t cases = std::min(comparison.cases.size(), kMostCasesDrawn);
  std::vector<ComparedWeb> webs = comparison.webs;
  if (webs.size() > kMostWebsDrawn)
    webs.resize(kMostWebsDrawn);
  PictureOptions options = wanted;
  if (options.plain) {
    options.width = 1000; // of kPlainWide_mm: a unit is 1.91 pixels
    options.height =
        static_cast<int>(1.912 * (kRow * static_cast<double>(std::max<std::size_t>(webs.size(), 2)) +
                                  26.0 * static_cast<double>(cases) + 80));
  }
  Page page = make_page(options, "Web by web", change_words(comparison),
                        "The snag number of each web that decides, with its band, in each case. " +
                            change_words(comparison),
                        cases);
  const double u = page.u;
  const SnagAxis axis = axis_of(webs, page.low + Vec2{kLabels * u, 10 * u}, page.high - Vec2{6 * u, 74 * u});
  draw_axis(page, axis);
  for (std::size_t n = 0; n < webs.size(); ++n)
    draw_row(page, axis, webs[n], axis.plot.y1 - static_cast<double>(n) - 0.5, shown);
  if (webs.empty())
    page.drawing.text(axis.plot(0.5 * (axis.plot.x0 + axis.plot.x1), 0.5), "no web beside the cutter", 18 * u,
                      Anchor::middle);
  page.heading("Cases");
  draw_legend(page, comparison);
  page.gap();
  page.note(
      fmt::format("Left: number of the web and its thickness in {}. Bars: the bands of S.", shown.unit()));
  page.note("In one foam the bands share Lambda: the change from case to case is surer than either number.");
  if (webs.size() < comparison.webs.size())
    page.note(fmt::format("{} further webs stand in compare-webs.csv.", comparison.webs.size() - webs.size()),
              kPale);
  return std::move(page.drawing);
}

} // namespace snagmap
