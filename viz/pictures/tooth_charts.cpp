#include "viz/pictures/tooth_charts.hpp"

#include "viz/draw/page.hpp"
#include "viz/words/tooth_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

constexpr Colour kFeeds[] = {{150, 110, 20}, kFlutes, {60, 60, 66}};
constexpr double kShownMost = 100, kShownLeast = 0.01; // tooth numbers that the chart shows

Plot plot_in(const Page& page) {
  Plot plot;
  plot.low = page.low + Vec2{80 * page.u, 10 * page.u};
  plot.high = page.high - Vec2{10 * page.u, 74 * page.u};
  return plot;
}

} // namespace

Drawing tooth_time_chart(const std::string& name, const ToothTrace& trace, double feed_mm_min,
                         const Shown& shown, const PictureOptions& options) {
  const ToothSummary stated = summary_of(trace);
  const std::string finding =
      trace.left
          ? "It came nearer than the cutter's radius: past all that is modelled."
          : fmt::format("Second half: mean lean {}, swing {}; the foot is cut {}, with "
                        "waves of {}.",
                        shown.length(stated.lean_mm, 2), shown.length(stated.swing_mm, 2),
                        over_cut_words(stated.over_cut_mm, shown), shown.length(stated.waviness_mm, 2));
  Page page = make_page(options, name + " under the teeth", finding,
                        "Lean of the web over time, tooth by tooth, and the depth to which the wall is cut");
  const std::size_t count = trace.lean_mm.size();
  double low = -0.01, high = 0.01;
  for (std::size_t n = 0; n < count; ++n)
    low = std::min(low, trace.least_mm[n]), high = std::max(high, trace.most_mm[n]);
  Plot plot = plot_in(page);
  plot.x1 = 1000 * trace.tooth_time_s * double(count);
  plot.y0 = shown.of(low) * 1.1, plot.y1 = shown.of(high) * 1.1;
  draw_axes(page, plot, "time (ms)", fmt::format("toward the cutter ({})", shown.unit()));
  const auto at = [&](std::size_t n, double mm) {
    return plot(1000 * trace.tooth_time_s * (double(n) + 0.5), shown.of(mm));
  };
  Band swing;
  swing.fill = {kFlutes.r, kFlutes.g, kFlutes.b, 60};
  std::vector<Vec2> mean, foot, top;
  for (std::size_t n = 0; n < count; ++n) {
    swing.low.push_back(at(n, trace.least_mm[n])), swing.high.push_back(at(n, trace.most_mm[n]));
    mean.push_back(at(n, trace.lean_mm[n]));
    foot.push_back(at(n, trace.foot_cut_mm[n])), top.push_back(at(n, trace.top_cut_mm[n]));
  }
  if (count > 1) {
    page.drawing.shapes.emplace_back(std::in_place_type<Band>, swing);
    page.drawing.line(mean, kFlutes, 3 * page.u);
    page.drawing.line(foot, kInk, 1.5 * page.u);
    page.drawing.line(top, kPale, 1.5 * page.u, true);
  }
  page.heading("Lean");
  page.swatch(kFlutes, "mean of the contact over each tooth; shaded: all heights");
  page.gap();
  page.heading("Wall left behind");
  page.swatch(kInk, "cut at the lowest place, + too deep");
  page.swatch(kPale, "at the highest place of the cut (dashed)");
  page.note(fmt::format("{} pass in each ms of real feed.", shown.length(feed_mm_min / 60000, 3)));
  page.gap();
  page.note("The cutter stays at one place of the web; guessed inputs. A shape of what may happen, not a "
            "measurement.");
  return page.drawing;
}

Drawing tooth_lobe_chart(const std::string& name, const ToothLobes& lobes, const WebTooth& from,
                         const Shown& shown, const PictureOptions& options) {
  Page page = make_page(options, "Speed and feed for " + name,
                        fmt::format("Tooth number T: past 1 small motions grow. Now {} at {:.0f}/min.",
                                    tooth_band_text(from.t, from.t_low, from.t_high), from.spindle_rpm),
                        "Tooth number over spindle speed for half, the program's and twice the feed");
  Plot plot = plot_in(page);
  plot.x0 = lobes.rpm_low, plot.x1 = lobes.rpm_high;
  plot.y0 = std::log10(kShownLeast), plot.y1 = std::log10(kShownMost);
  draw_axes(page, plot, "spindle speed (1/min), the machine's range", "T, as a power of ten");
  const auto height = [](double t) { return std::log10(std::clamp(t, kShownLeast, kShownMost)); };
  page.drawing.line({plot(plot.x0, 0), plot(plot.x1, 0)}, kAlarm, 2 * page.u);
  page.heading("Feed");
  for (std::size_t c = 0; c < lobes.curves.size(); ++c) {
    const LobeCurve& curve = lobes.curves[c];
    const Colour colour = kFeeds[c % std::size(kFeeds)];
    std::vector<Vec2> line;
    for (std::size_t n = 0; n < curve.t.size(); ++n)
      line.push_back(plot(curve.spindle_rpm[n], height(curve.t[n])));
    if (line.size() > 1)
      page.drawing.line(line, colour, (7 - 2.5 * double(c)) * page.u); // those that lie on one another show
    std::string rubs = "rubs at no speed shown";
    if (curve.rubs_from_rpm <= lobes.rpm_low)
      rubs = "rubs at every speed";
    else if (curve.rubs_from_rpm < lobes.rpm_high)
      rubs = fmt::format("rubs from {:.0f}/min on, where the line ends", curve.rubs_from_rpm);
    page.swatch(colour, shown.feed(curve.feed_mm_min) + ": " + rubs);
  }
  if (lobes.curves.size() < 3)
    page.note("Faster feeds are past the machine's " + shown.feed(lobes.feed_limit_mm_min) + ".");
  page.gap();
  page.heading("Own swings");
  for (int k = 1; k <= 2; ++k)
    if (k * lobes.f1_rpm > plot.x0 && k * lobes.f1_rpm < plot.x1)
      page.drawing.line({plot(k * lobes.f1_rpm, plot.y0), plot(k * lobes.f1_rpm, plot.y1)}, kPale,
                        1.5 * page.u, true);
  page.note(fmt::format(
      "A tooth a swing at {:.0f}/min, two at {:.0f} (dashed where in range); f1 {:.0f} Hz, {:.0f} to {:.0f}.",
      lobes.f1_rpm, 2 * lobes.f1_rpm, from.f1_Hz, from.f1_low_Hz, from.f1_high_Hz));
  page.gap();
  page.swatch(kAlarm, "T = 1");
  page.note("Over 100 and under 0.01 the line runs along the edge. Guessed inputs.");
  return page.drawing;
}

} // namespace snagmap
