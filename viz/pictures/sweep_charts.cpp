#include "viz/pictures/sweep_charts.hpp"

#include "viz/draw/page.hpp"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <map>

namespace snagmap {
namespace {

constexpr std::size_t kMostFoams = 6, kMostPairs = 24, kMostPairsPlain = 8;

using Group = std::pair<double, double>; // pass, height

Group largest_group(const std::vector<NarrowestWall>& walls) {
  std::map<Group, int> counts;
  for (const NarrowestWall& w : walls)
    ++counts[{w.pass_mm, w.height_mm}];
  Group best;
  int most = 0;
  for (const auto& [group, count] : counts)
    if (count > most)
      best = group, most = count;
  return best;
}

Colour faint(Colour c) {
  return {c.r, c.g, c.b, 60};
}

} // namespace

Drawing narrowest_chart(const std::vector<NarrowestWall>& walls, const std::string& title,
                        const PictureOptions& options) {
  const Group group = largest_group(walls);
  std::map<std::string, std::vector<NarrowestWall>> foams;
  double most_x = 1, most_y = 1;
  for (const NarrowestWall& w : walls)
    if (Group{w.pass_mm, w.height_mm} == group && w.width_mm > 0 && std::isfinite(w.width_mm)) {
      foams[w.foam].push_back(w);
      most_x = std::max(most_x, w.flute_length_mm);
      most_y = std::max(most_y, std::isfinite(w.high_mm) ? w.high_mm : w.width_mm);
    }
  Page page = make_page(options, title,
                        fmt::format("Narrowest wall that holds, {:g} mm high, cut in passes of {:g} mm",
                                    group.second, group.first),
                        "Narrowest wall that holds against flute length, with bands.",
                        std::min(foams.size(), kMostFoams));
  Plot plot;
  plot.low = page.low + Vec2{80 * page.u, 20 * page.u}, plot.high = page.high - Vec2{0, 74 * page.u};
  plot.x1 = 1.08 * most_x, plot.y1 = 1.08 * most_y;
  draw_axes(page, plot, "flute length (mm)", "narrowest wall that holds (mm)");
  page.heading("Foam");
  std::size_t shown = 0;
  for (auto& [foam, points] : foams) {
    if (shown == kMostFoams) {
      page.note(fmt::format("{} more in table.csv", foams.size() - shown));
      break;
    }
    const Colour colour =
        cividis(foams.size() < 2 ? 0.2
                                 : 0.85 * static_cast<double>(shown) /
                                       static_cast<double>(std::min(foams.size(), kMostFoams) - 1));
    std::sort(points.begin(), points.end(),
              [](auto& a, auto& b) { return a.flute_length_mm < b.flute_length_mm; });
    Band band;
    std::vector<Vec2> line;
    for (const NarrowestWall& w : points) {
      band.low.push_back(plot(w.flute_length_mm, w.low_mm));
      band.high.push_back(plot(w.flute_length_mm, std::min(w.high_mm, plot.y1)));
      line.push_back(plot(w.flute_length_mm, w.width_mm));
    }
    band.fill = faint(colour);
    if (points.size() > 1)
      page.drawing.shapes.emplace_back(std::in_place_type<Band>, band);
    page.drawing.line(line, colour, 3 * page.u);
    for (std::size_t i = 0; i < line.size(); ++i) {
      page.drawing.line({band.low[i], band.high[i]}, colour, 1.5 * page.u);
      page.drawing.disc(line[i], 6 * page.u, colour);
    }
    page.swatch(colour, foam);
    ++shown;
  }
  if (foams.empty())
    page.note("no wall of the table brackets its edge");
  page.gap();
  page.note("Bands: the range of Lambda on each foam's card. A band that leaves the chart is wider than the "
            "walls of the plan.");
  return page.drawing;
}

Drawing ranking_chart(const std::vector<CutterRanking>& rankings, const std::string& title,
                      const PictureOptions& options) {
  Page page = make_page(options, title,
                        "Narrowest wall of the longer flutes over that of the shorter, both in the same foam",
                        "Ratio of narrowest walls of pairs of cutters with bands.");
  const std::size_t n = std::min(rankings.size(), page.plain ? kMostPairsPlain : kMostPairs);
  double most = 1.2;
  for (const CutterRanking& r : rankings)
    most = std::max(most, r.high);
  Plot plot;
  plot.low = page.low + Vec2{(page.plain ? 220 : 330) * page.u, 20 * page.u},
  plot.high = page.high - Vec2{0, 74 * page.u};
  plot.x1 = 1.05 * most, plot.y1 = static_cast<double>(std::max<std::size_t>(n, 1));
  Drawing& d = page.drawing;
  const double u = page.u, step = round_step(plot.x1, 10);
  for (double x = 0; x <= plot.x1; x += step) {
    d.line({plot(x, 0), plot(x, plot.y1)}, Colour{222, 226, 230}, u);
    d.text({plot(x, 0).x, plot.high.y + 24 * u}, tick_text(x, step), 18 * u, Anchor::middle);
  }
  d.line({plot(1, 0), plot(1, plot.y1)}, kInk, 1.5 * u, true);
  d.frame(plot.low, plot.high, kInk, 1.5 * u);
  d.text({0.5 * (plot.low.x + plot.high.x), plot.high.y + 52 * u},
         "ratio of narrowest walls, longer over shorter flutes", 20 * u, Anchor::middle);
  for (std::size_t i = 0; i < n; ++i) {
    const CutterRanking& r = rankings[i];
    const double y = plot.y1 - static_cast<double>(i) - 0.5;
    const Vec2 at = plot(r.ratio, y);
    d.line({plot(r.low, y), plot(r.high, y)}, kFlutes, 5 * u);
    d.disc(at, 7 * u, kInk);
    const double size = page.plain ? 17.5 * u : n > 12 ? 12 * u : 15 * u; // on paper no type is under 8 pt
    d.text({plot.low.x - 10 * u, at.y - 1 * u},
           fitted(fmt::format("{}: {}", r.foam, r.longer), size, plot.low.x - 20 * u), size, Anchor::end);
    d.text({plot.low.x - 10 * u, at.y + size},
           fitted(fmt::format("over {}, {:g} high", r.shorter, r.height_mm), size, plot.low.x - 20 * u), size,
           Anchor::end, kPale);
  }
  page.heading("How to read it");
  page.note("Over 1: the shorter flutes leave a narrower wall standing. Both cutters meet the same Lambda, "
            "so its uncertainty cancels in most of the ratio: the bar is "
            "what is left of the card's band.");
  if (rankings.size() > n)
    page.note(fmt::format("{} more pairs in table.csv", rankings.size() - n));
  if (rankings.empty())
    page.note("no two cutters of the table both bracket their edge");
  return d;
}

} // namespace snagmap
