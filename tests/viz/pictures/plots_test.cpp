// Plots, maps and the comparison by content: curves and colours stand where the numbers say.
#include "tests/viz/pictures/pictures_fixture.hpp"
#include "viz/pictures/map_page.hpp"
#include "viz/pictures/pictures.hpp"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <iterator>

using namespace snagmap;
using namespace snagmap::pictures;

// The fullest legend there is: as many places as are told, elements, and a row for each risk.
TEST_F(Pictures, TheFullestTimelineKeepsItsLegendAboveTheFoot) {
  Preview full = *preview;
  const Spot worst = full.spots.front();
  full.spots.assign(6, worst);
  for (std::size_t i = 0; i < full.spots.size(); ++i) {
    full.spots[i].place_mm.x += 100.0 * static_cast<double>(i);
    full.spots[i].web = 1000 + static_cast<int>(i);
    full.spots[i].fe = SolidCheck{};
    full.spots[i].fe->verified = true;
    full.spots[i].answer.s = 2;
  }
  JobChecks checks;
  for (const Risk& what :
       {Risk(risk::Strand{200, false, 3}), Risk(risk::LoosePiece{900, false, 0}),
        Risk(risk::WeakHold{0.8, 0.5, 1.2, false}), Risk(risk::Rubbing{fact::ShankRubs{1, 3, 3}})}) {
    RiskEvent event;
    event.what = what;
    checks.timeline.events.push_back(event);
  }
  checks.timeline.stops.emplace_back();
  full.checks = std::make_shared<JobChecks>(checks);
  for (const auto& [width, height] : {std::pair{1600, 1000}, std::pair{1000, 1000}}) {
    PictureOptions options;
    options.width = width, options.height = height;
    PictureSource source(full, options);
    const Picture picture = timeline_picture(source);
    const double u = std::min(width / 1600.0, height / 1000.0);
    int in_column = 0;
    for (const Text& text : texts(picture.drawing)) {
      if (text.at.x < width - 370 * u || text.anchor != Anchor::start)
        continue;
      ++in_column;
      EXPECT_LE(text.at.y, height - 40 * u) << text.words << " runs into the foot";
    }
    EXPECT_GT(in_column, 18);
  }
}

// The left pocket at half its feed words: middle of the map there, dark where the words are kept; both along
// the tip.
TEST_F(Pictures, TheMapOfRealFeedPaintsTheShareOfTheFeedWord) {
  Preview slowed = *preview;
  for (PathSample& s : slowed.samples)
    if (s.x_mm < 0)
      s.feed_mm_min *= 0.5f;
  PictureOptions options;
  PictureSource source(slowed, options);
  const Picture picture = map_picture(source, MapKind::feed);
  const Pixels pixels = rasterised(picture.drawing);
  const MapPage map = map_page(source, picture.drawing.title, "");
  const auto differ = [&](Vec2 at, Colour colour) {
    const auto i = 3 * (static_cast<std::size_t>(at.y) * static_cast<std::size_t>(pixels.columns) +
                        static_cast<std::size_t>(at.x));
    return std::abs(pixels.rgb[i] - colour.r) + std::abs(pixels.rgb[i + 1] - colour.g) +
           std::abs(pixels.rgb[i + 2] - colour.b);
  };
  double slow = 0, all = 0;
  int asked = 0;
  for (std::size_t i = 1; i + 1 < slowed.samples.size(); ++i) {
    const PathSample& s = slowed.samples[i];
    if (s.z_mm >= 0)
      continue; // over the sheet
    const bool left = s.x_mm < 0;
    ++all, slow += left;
    // Lines cut corners short, and a plunge is no more than the end of one.
    if (slowed.samples[i - 1].move != s.move || slowed.samples[i + 1].move != s.move ||
        slowed.path.moves[s.move].from.z != slowed.path.moves[s.move].to.z)
      continue;
    ++asked;
    // One of 32 steps of the map: 0.5 and 0 of the feed word missing.
    EXPECT_LT(differ(map.pixel({s.x_mm, s.y_mm}), cividis((left ? 16.5 : 0.5) / 32)), 12)
        << s.x_mm << " " << s.y_mm;
  }
  EXPECT_GT(asked, 1000);
  const std::string share = fmt::format("on {:.0f} % of the path", 100 * slow / all);
  EXPECT_NE(picture.drawing.description.find(share), std::string::npos) << picture.drawing.description;
}

TEST_F(Pictures, AWidthChartDrawsItsCurvesWhereTheyAre) {
  WidthChart chart;
  chart.title = "given";
  chart.curves = {{"soft", {0, 10, 20}, {2, 12, 22}, {}, {}}};
  chart.cutters = {{"stub", 6, "holds webs from 8 mm"}};
  PictureOptions options;
  const Picture picture = width_picture(chart, options);
  // The curve is a straight line of slope 1 from (0, 2): its pixels against the axes' own numbers.
  const std::vector<Text> all = texts(picture.drawing);
  const auto tick = [&](const char* words, Anchor anchor) {
    return std::find_if(all.begin(), all.end(),
                        [&](const Text& t) { return t.words == words && t.anchor == anchor; })
        ->at;
  };
  const double mm_x = (tick("10", Anchor::middle).x - tick("0", Anchor::middle).x) / 10,
               mm_y = (tick("0", Anchor::end).y - tick("10", Anchor::end).y) / 10;
  const Line* curve = nullptr;
  for (const Shape& shape : picture.drawing.shapes)
    if (const auto* const line = std::get_if<Line>(&shape))
      if (line->points.size() == 3)
        curve = line;
  ASSERT_NE(curve, nullptr);
  EXPECT_NEAR((curve->points[2].x - curve->points[0].x) / mm_x, 20, 1e-6);
  EXPECT_NEAR((curve->points[0].y - curve->points[2].y) / mm_y, 20, 1e-6);
  EXPECT_NEAR((tick("0", Anchor::end).y - 6 - curve->points[0].y) / mm_y, 2, 1e-6);
}

// 300 mm at 7 m/min and 500 mm/s2 (uniformly accelerated motion): the feed grows with time up to 0.2333 s
// of 2.804762.
TEST_F(Pictures, TheFeedPlotShowsTheRealFeedUnderTheProgrammedOne) {
  Preview job = *preview;
  Move move;
  move.to = {300, 0, 0};
  move.feed_mm_min = 7000;
  move.spindle_rpm = 18000;
  job.path.moves = {move};
  MachineCard machine;
  machine.feed_mm_min = {8000, 8000, 8000};
  machine.acceleration_mm_s2 = {500, 500, 500};
  job.motion = plan_motion(job.path, machine);
  PictureOptions options;
  PictureSource own(job, options);
  const Picture picture = feed_picture(own);
  // Bars of the real feed start at the axis; the programmed feed is a level stroke above them.
  const Line *word = nullptr, *bar_before = nullptr;
  double least_off = 1e9, top_y = 1e9, axis_y = 0, left = 1e9, right = 0;
  std::vector<const Line*> bars;
  for (const Shape& shape : picture.drawing.shapes) {
    const auto* const line = std::get_if<Line>(&shape);
    if (!line || line->points.size() != 2)
      continue;
    if (line->colour == kInk && line->points[0].y == line->points[1].y && line->width > 2 &&
        line->points[0].y < top_y)
      word = line, top_y = line->points[0].y;
    if (line->colour == kFlutes)
      bars.push_back(line);
  }
  ASSERT_NE(word, nullptr);
  for (const Line* bar : bars)
    if (bar->points[0].y < picture.drawing.height * 0.55)
      axis_y = std::max(axis_y, bar->points[0].y), left = std::min(left, bar->points[0].x),
      right = std::max(right, bar->points[0].x);
  for (const Line* bar : bars) {
    if (bar->points[0].y != axis_y)
      continue;
    const double t = 2.804762 * (bar->points[0].x - left) / (right - left),
                 height = (axis_y - bar->points[1].y) / (axis_y - top_y);
    EXPECT_LE(height, 1 + 1e-6);
    if (std::abs(t - 0.1167) < least_off)
      least_off = std::abs(t - 0.1167), bar_before = bar;
    if (t > 0.25 && t < 2.55) {
      EXPECT_NEAR(height, 1, 1e-6) << t;
    }
  }
  ASSERT_NE(bar_before, nullptr);
  // Half of the feed after half of the run-up; a column is 1/1000 of the plot wide, 0.003 s or 0.012 of the
  // feed.
  EXPECT_NEAR((axis_y - bar_before->points[1].y) / (axis_y - top_y), 0.5, 0.03);
}

TEST_F(Pictures, TheComparisonShowsBothSheetsInOneViewWithTheirOwnColours) {
  Preview stub = *preview;
  stub.scene.cutters = {fixture_cutter(6)};
  for (PathSample& s : stub.samples)
    s.s *= 0.25f;
  for (Spot& s : stub.spots) {
    s.answer.s *= 0.25;
    s.answer.level = Level::firm;
  }
  PictureOptions options;
  PictureSource before(*preview, options), after(stub, options);
  const Picture picture = compare_picture(before, after);
  const Projection view = picture.stage->projection();
  const Pixels pixels = rasterised(picture.drawing, picture.stage.get());
  const std::vector<Text> all = texts(picture.drawing);
  const auto at_of = [&](const char* words) {
    const auto found = std::find_if(all.begin(), all.end(), [&](const Text& t) { return t.words == words; });
    return found == all.end() ? Vec2{-1, -1} : found->at;
  };
  const Vec2 aside = at_of("After") - at_of("Before");
  ASSERT_GT(aside.x, 300);
  EXPECT_EQ(aside.y, 0);
  int hit = 0, asked = 0, wrong = 0;
  for (double y = -10; y <= 10; y += 0.5)
    for (double x = -3.5; x <= 3.5; x += 0.5) {
      const Vec2 at = view({x, y, 0});
      if (norm(at - view({4, preview->spots.front().place_mm.y, 0}) - Vec2{13, -26}) < 60)
        continue; // the badge
      ++asked;
      hit += reddish(pixels, at);
      wrong += reddish(pixels, at + aside);
    }
  EXPECT_GT(asked, 100);
  EXPECT_GE(hit, asked * 95 / 100);
  EXPECT_EQ(wrong, 0);
  EXPECT_GT(at_of("long, flutes 22.0 mm").x, 0);
  EXPECT_GT(at_of("stub, flutes 6.00 mm").x, at_of("long, flutes 22.0 mm").x);
  const std::string change = fmt::format("{}  S {:.2f} to {:.2f}", preview->spots.front().web,
                                         preview->spots.front().s(), stub.spots.front().s());
  EXPECT_GT(at_of(change.c_str()).x, 0) << change;
}

// The picture's width for a cutter is what `snagmap narrowest` answers for that web: depth, length, ends,
// pass and cutter asked by hand.
TEST_F(Pictures, TheNarrowestPictureSaysWhatTheCommandSays) {
  const auto worst = std::find_if(preview->spots.begin(), preview->spots.end(), [](const Spot& spot) {
    return spot.question.web.length_mm() >= 1.5 * spot.question.web.h_mm;
  });
  ASSERT_NE(worst, preview->spots.end());
  const CutterCard& cutter = preview->scene.cutters[static_cast<std::size_t>(worst->cutter)];
  NarrowestSpec spec;
  spec.foams = {preview->scene.main_foam()};
  spec.depths_mm = {worst->question.web.h_mm};
  spec.length_mm = worst->question.web.length_mm();
  spec.pass_mm = worst->question.pass_depth_mm;
  spec.diameter_mm = cutter.diameter_mm;
  spec.rigid_floor = worst->question.web.rigid_floor;
  if (worst->question.web.end1 == WebEnd::built_in && worst->question.web.end2 == WebEnd::built_in)
    spec.ends = WebEnd::built_in;
  spec.flute_lengths_mm = {cutter.flute_length_mm};
  const NarrowestRow row = narrowest_table(spec).rows.front();
  ASSERT_TRUE(row.w_mm > 0 && std::isfinite(row.w_mm));
  const WidthChart chart = width_chart(*preview);
  const WidthCurve& own = chart.curves.front();
  const auto at = std::find(own.flutes_mm.begin(), own.flutes_mm.end(), cutter.flute_length_mm);
  ASSERT_NE(at, own.flutes_mm.end());
  EXPECT_NEAR(own.width_mm[static_cast<std::size_t>(at - own.flutes_mm.begin())], row.w_mm, 1e-6 * row.w_mm);
  ASSERT_FALSE(chart.cutters.empty());
  EXPECT_NE(chart.cutters.front().words.find(Shown{}.length(row.w_mm)), std::string::npos)
      << chart.cutters.front().words;
}
