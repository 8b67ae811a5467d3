// The narrowest web that holds, over the length of the flutes.
#include "viz/pictures/set.hpp"
#include "viz/words/spot_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace snagmap {

namespace {

constexpr double kMost_mm = 60; // of a chart: thicker ones are no webs of an insert
constexpr int kPoints = 16;     // of a curve

/// The question of `snagmap narrowest` for the job's worst long web and its cutter, or for a reference web.
NarrowestSpec spec_of(const Preview& preview) {
  NarrowestSpec spec;
  spec.foams = {preview.scene.main_foam()};
  for (const FoamCard& card : foam_cards())
    if (card.name != spec.foams.front().name && spec.foams.size() < 4)
      spec.foams.push_back(card);
  spec.depths_mm = {25};
  spec.rigid_floor = preview.scene.rigid_floor;
  if (!preview.scene.cutters.empty())
    spec.diameter_mm = spec.pass_mm = preview.scene.cutters.front().diameter_mm;
  // A short island says little of the other webs.
  const auto worst = std::find_if(preview.spots.begin(), preview.spots.end(), [](const Spot& s) {
    return s.question.web.length_mm() >= 1.5 * s.question.web.h_mm;
  });
  if (worst != preview.spots.end()) {
    const SnagQuestion& asked = worst->question;
    spec.depths_mm = {asked.web.h_mm};
    spec.length_mm = asked.web.length_mm();
    spec.pass_mm = asked.pass_depth_mm;
    spec.diameter_mm = preview.scene.cutters[static_cast<std::size_t>(worst->cutter)].diameter_mm;
    spec.rigid_floor = asked.web.rigid_floor;
    if (asked.web.end1 == WebEnd::built_in && asked.web.end2 == WebEnd::built_in)
      spec.ends = WebEnd::built_in;
  }
  double longest = std::max(15.0, 1.1 * spec.depths_mm.front());
  for (const auto* cards : {&preview.scene.cutters, &preview.scene.drawer})
    for (const CutterCard& card : *cards)
      longest = std::max(longest, 1.15 * card.flute_length_mm);
  for (int i = 0; i < kPoints; ++i)
    spec.flute_lengths_mm.push_back(2 + (longest - 2) * i / (kPoints - 1));
  for (const CutterCard& card : preview.scene.cutters)
    spec.flute_lengths_mm.push_back(card.flute_length_mm);
  std::sort(spec.flute_lengths_mm.begin(), spec.flute_lengths_mm.end());
  spec.flute_lengths_mm.erase(std::unique(spec.flute_lengths_mm.begin(), spec.flute_lengths_mm.end()),
                              spec.flute_lengths_mm.end());
  return spec;
}

/// What a row means, for a cutter of its flute length.
std::string holds_from(const NarrowestRow& row, const Shown& shown) {
  if (!std::isfinite(row.w_mm))
    return "no web of this shape up to " + shown.length(kThickestAsked_mm) + " holds";
  return row.w_mm > 0 ? "holds webs from " + shown.length(row.w_mm)
                      : "holds webs of " + shown.length(kThinnestAsked_mm) + " too";
}

} // namespace

WidthChart width_chart(const NarrowestTable& table, bool inch) {
  const NarrowestSpec& spec = table.spec;
  const Shown shown{inch};
  WidthChart chart;
  chart.inch = inch;
  chart.title = "Narrowest web that holds";
  chart.finding =
      fmt::format("Thickness where the snag number is 1, by the formula: webs {}{} long, ends {}, cutter {}, "
                  "passes {} deep.",
                  spec.depths_mm.size() == 1 ? shown.length(spec.depths_mm.front()) + " tall and " : "",
                  shown.length(spec.length_mm), to_text(spec.ends), shown.length(spec.diameter_mm),
                  shown.length(spec.pass_mm));
  // Past these no width is asked for: the curve runs along the chart's edge.
  const auto within = [](double w_mm) { return std::clamp(w_mm, kThinnestAsked_mm, kThickestAsked_mm); };
  for (std::size_t first = 0; first < table.rows.size(); first += spec.flute_lengths_mm.size()) {
    const NarrowestRow& head = table.rows[first];
    const FoamCard& foam = spec.foams[head.foam];
    WidthCurve curve;
    curve.name = (foam.title.empty() ? foam.name : foam.title) +
                 (spec.depths_mm.size() > 1 ? ", pockets " + shown.length(head.depth_mm) + " deep" : "");
    for (std::size_t k = 0; k < spec.flute_lengths_mm.size(); ++k) {
      const NarrowestRow& row = table.rows[first + k];
      curve.flutes_mm.push_back(row.flute_length_mm);
      curve.width_mm.push_back(within(row.w_mm));
      if (first > 0)
        continue;
      curve.low_mm.push_back(within(row.w_low_mm));
      curve.high_mm.push_back(within(row.w_high_mm));
    }
    chart.curves.push_back(std::move(curve));
  }
  return chart;
}

WidthChart width_chart(const Preview& preview) {
  const Shown shown{preview.scene.show_inch};
  const NarrowestTable table = narrowest_table(spec_of(preview));
  WidthChart chart = width_chart(table, shown.inch);
  const std::vector<double>& flutes_mm = table.spec.flute_lengths_mm;
  for (const CutterCard& c : preview.scene.cutters) {
    const auto row = std::find(flutes_mm.begin(), flutes_mm.end(), c.flute_length_mm) - flutes_mm.begin();
    chart.cutters.push_back(
        {c.name, c.flute_length_mm, holds_from(table.rows[static_cast<std::size_t>(row)], shown)});
  }
  const std::vector<std::size_t> places = worst_places(preview, 40);
  for (auto rank = places.rbegin(); rank != places.rend(); ++rank) {
    const Spot& spot = preview.spots[*rank];
    chart.webs.push_back({preview.scene.cutters[static_cast<std::size_t>(spot.cutter)].flute_length_mm,
                          spot.question.web.w_mm, spot.level()});
  }
  return chart;
}

namespace {

// Told apart by lightness and dashes too; more curves than these begin again.
constexpr Colour kCurves[] = {kFlutes, {150, 110, 20}, {60, 60, 66}, {140, 150, 160}};

std::pair<Colour, bool> style_of(std::size_t curve) { // colour, dashed
  return {kCurves[curve % std::size(kCurves)],
          curve % std::size(kCurves) == 2 || curve >= std::size(kCurves)};
}

struct WidthPlot {
  Page& page;
  const Shown& shown;
  Plot plot;
  double unit_mm = 1;

  Vec2 operator()(double flutes_mm, double width_mm) const {
    return plot(flutes_mm / unit_mm, std::min(width_mm / unit_mm, plot.y1));
  }
  bool in_sight(double width_mm) const { return width_mm / unit_mm <= plot.y1; }
};

WidthPlot axes_for(const WidthChart& chart, Page& page, const Shown& shown) {
  WidthPlot at{page, shown, {}, shown.unit_mm()};
  double most = 10, longest = 0;
  for (const WidthCurve& curve : chart.curves) {
    for (const double w : curve.width_mm)
      most = std::max(most, w);
    for (const double x : curve.flutes_mm)
      longest = std::max(longest, x);
  }
  at.plot.low = page.low + Vec2{80 * page.u, 10 * page.u};
  at.plot.high = page.high - Vec2{10 * page.u, 74 * page.u};
  at.plot.x1 = std::max(longest, 1.0) / at.unit_mm;
  at.plot.y1 = std::min(most * 1.3, kMost_mm) / at.unit_mm;
  draw_axes(page, at.plot, fmt::format("flute length ({})", shown.unit()),
            fmt::format("web thickness ({})", shown.unit()));
  return at;
}

/// The first foam last, over the others; with the names.
void draw_curves(const WidthPlot& at, const std::vector<WidthCurve>& curves) {
  Page& page = at.page;
  bool banded = false;
  for (std::size_t f = curves.size(); f-- > 0;) {
    const WidthCurve& curve = curves[f];
    const auto [colour, dashed] = style_of(f);
    if (!curve.low_mm.empty()) {
      Band band;
      band.fill = Colour{colour.r, colour.g, colour.b, 60};
      for (std::size_t k = 0; k < curve.flutes_mm.size(); ++k) {
        band.low.push_back(at(curve.flutes_mm[k], curve.low_mm[k]));
        band.high.push_back(at(curve.flutes_mm[k], curve.high_mm[k]));
      }
      page.drawing.shapes.emplace_back(std::in_place_type<Band>, band);
      banded = true;
    }
    std::vector<Vec2> line;
    for (std::size_t k = 0; k < curve.flutes_mm.size(); ++k)
      if (at.in_sight(curve.width_mm[k]))
        line.push_back(at(curve.flutes_mm[k], curve.width_mm[k]));
    if (line.size() > 1)
      page.drawing.line(std::move(line), colour, (f == 0 ? 4 : 2.5) * page.u, dashed);
  }
  page.heading("Foam");
  for (std::size_t f = 0; f < curves.size(); ++f)
    page.swatch(style_of(f).first, curves[f].name + (style_of(f).second ? " (dashed)" : ""));
  if (banded)
    page.note("Shaded: the band from the card's range.");
  page.gap();
}

void draw_cutters_of(const WidthPlot& at, const std::vector<WidthChart::Mark>& cutters) {
  Page& page = at.page;
  const double u = page.u;
  if (!cutters.empty())
    page.heading("Cutters");
  for (const WidthChart::Mark& c : cutters) {
    const Vec2 foot = at(c.flutes_mm, 0);
    page.drawing.line({foot, {foot.x, at.plot.low.y}}, kInk, 1.5 * u, true);
    page.drawing.text({foot.x - 8 * u, at.plot.low.y + 20 * u},
                      fitted(c.name, 17 * u, std::max(60 * u, foot.x - at.plot.low.x - 16 * u)), 17 * u,
                      Anchor::end);
    page.note(fmt::format("{}: flutes {}{}", c.name, at.shown.length(c.flutes_mm),
                          c.words.empty() ? "" : ", " + c.words));
  }
}

void draw_webs_of(const WidthPlot& at, const std::vector<WidthChart::Web>& webs) {
  if (webs.empty())
    return;
  Page& page = at.page;
  page.gap();
  page.heading("Webs of this job");
  for (const WidthChart::Web& web : webs) {
    if (!at.in_sight(web.width_mm))
      continue; // far over every curve
    const Vec2 p = at(web.flutes_mm, web.width_mm);
    page.drawing.disc(p, 8 * page.u, {255, 255, 255});
    page.drawing.disc(p, 6.5 * page.u, level_colour(web.level));
  }
  page.swatch(level_colour(Level::tears), "snags or tears");
  page.swatch(level_colour(Level::leans), "leans");
  page.swatch(level_colour(Level::firm), "firm");
  page.note("Dots: each web at its own thickness. One of another height or length may lie across its "
            "curve. No web under " +
                at.shown.length(kThinnestAsked_mm) + " is looked for.",
            kPale);
}

} // namespace

Picture width_picture(const WidthChart& chart, const PictureOptions& options) {
  const Shown shown{chart.inch};
  Page page =
      make_page(options, chart.title, chart.finding,
                chart.title + " against flute length, a curve for each foam with the band of its card. " +
                    chart.finding);
  const WidthPlot at = axes_for(chart, page, shown);
  draw_curves(at, chart.curves);
  draw_cutters_of(at, chart.cutters);
  draw_webs_of(at, chart.webs);
  page.drawing.text(at.plot(at.plot.x1 * 0.02, at.plot.y1 * 0.955), "holds above a curve", 18 * page.u,
                    Anchor::start, kPale);
  Picture out;
  out.name = "narrowest";
  out.drawing = std::move(page.drawing);
  return out;
}

Picture narrowest_picture(PictureSource& source) {
  return width_picture(width_chart(source.preview), source.options);
}

} // namespace snagmap
