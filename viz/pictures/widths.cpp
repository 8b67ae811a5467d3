// The narrowest web that holds, over the length of the flutes.
#include "viz/pictures/set.hpp"
#include "viz/words/spot_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace snagmap {

namespace {

constexpr double kMost_mm = 60, kLeast_mm = 1.5; // the formula is asked for no web thinner than this

/// The shape asked about: the worst long web's, or a reference web of 25 mm height and 100 mm length.
SnagQuestion web_asked_about(const Preview& preview) {
  SnagQuestion question;
  question.web.h_mm = 25;
  question.web.d1_mm = question.web.d2_mm = 50;
  question.web.b_p_mm = contact_length_mm(
      preview.scene.cutters.empty() ? 3.175 : preview.scene.cutters.front().diameter_mm / 2, 1);
  question.pass_depth_mm = 6.35;
  // A short island says little of the other webs.
  const auto long_web = std::find_if(preview.spots.begin(), preview.spots.end(), [](const Spot& s) {
    return s.question.web.length_mm() >= 1.5 * s.question.web.h_mm;
  });
  if (long_web != preview.spots.end())
    question = long_web->question;
  question.web.w_mm = std::max(question.web.w_mm, kLeast_mm);
  question.gap_mm.fill(0);
  return question;
}

} // namespace

WidthChart width_chart(const Preview& preview) {
  const Shown shown{preview.scene.show_inch};
  const SnagQuestion question = web_asked_about(preview);
  const double h = question.web.h_mm;
  const FoamCard& own = preview.scene.main_foam();
  WidthChart chart;
  chart.inch = shown.inch;
  chart.title = "Narrowest web that holds";
  chart.finding = fmt::format(
      "Width where the snag number is 1, by the formula: web {} tall and {} long, {}.", shown.length(h),
      shown.length(question.web.length_mm()),
      question.web.end1 == question.web.end2 ? fmt::format("both ends {}", to_text(question.web.end1))
                                             : std::string("one end built in, the other free"));
  std::vector<const FoamCard*> foams{&own};
  for (const FoamCard& card : foam_cards())
    if (card.name != own.name && foams.size() < 4)
      foams.push_back(&card);
  double longest = 12;
  for (const CutterCard& c : preview.scene.cutters)
    longest = std::max(longest, c.flute_length_mm);
  for (const CutterCard& c : preview.scene.drawer)
    longest = std::max(longest, c.flute_length_mm);
  longest = std::max({longest * 1.15, h * 1.1, 15.0});
  const auto width = [&](double lambda, double flutes) {
    SnagQuestion q = question;
    q.contact = {0, std::min(h, flutes)};
    q.pass_depth_mm = std::min(q.pass_depth_mm, q.contact.high_mm);
    return std::clamp(narrowest_width(q, lambda).w_mm, kLeast_mm, kMost_mm * 2);
  };
  constexpr int kPoints = 25;
  for (const FoamCard* foam : foams) {
    WidthCurve curve;
    curve.name = foam->title.empty() ? foam->name : foam->title;
    for (int i = 0; i < kPoints; ++i) {
      const double flutes = 2 + (longest - 2) * i / (kPoints - 1);
      curve.flutes_mm.push_back(flutes);
      curve.width_mm.push_back(width(foam->lambda.nominal, flutes));
      if (foam != &own)
        continue;
      curve.low_mm.push_back(width(own.lambda.low, flutes));
      curve.high_mm.push_back(width(own.lambda.high, flutes));
    }
    chart.curves.push_back(std::move(curve));
  }
  for (const CutterCard& c : preview.scene.cutters) {
    const double least = width(own.lambda.nominal, c.flute_length_mm);
    chart.cutters.push_back({c.name, c.flute_length_mm,
                             least > 80 ? "no web of this shape up to " + shown.length(80) + " holds"
                                        : "holds webs from " + shown.length(least)});
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
                at.shown.length(kLeast_mm) + " is looked for.",
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
