// The chart of several cases, web by web, as the report and as a paper want it.
#include "viz/pictures/web_chart.hpp"

#include "viz/draw/pdf.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>

using namespace snagmap;

namespace {

Comparison two_cases(std::size_t webs) {
  Comparison all;
  all.cases.resize(2);
  all.cases[0].name =
      "as it is, with a name that is longer than any column of a chart would ever like to hold";
  all.cases[1].name = "stub";
  for (std::size_t n = 0; n < webs; ++n) {
    ComparedWeb web;
    web.web = static_cast<int>(n) + 1;
    const double s = 8.0 / static_cast<double>(n + 1);
    web.cases.resize(2);
    for (const std::size_t i : {0, 1}) {
      WebInCase& one = web.cases[i];
      one.seen = true, one.w_mm = 6, one.h_mm = 25;
      one.s = i == 0 ? s : 0.25 * s, one.s_low = 0.5 * one.s, one.s_high = 2 * one.s;
    }
    all.webs.push_back(web);
  }
  return all;
}

PictureOptions plain() {
  PictureOptions options;
  options.plain = true;
  return options;
}

std::vector<Text> texts_of(const Drawing& drawing) {
  std::vector<Text> all;
  for (const Shape& shape : drawing.shapes)
    if (const auto* text = std::get_if<Text>(&shape))
      all.push_back(*text);
  return all;
}

} // namespace

// Decades are as far apart anywhere on a logarithmic axis: a band from S/2 to 2 S is as long at any S.
TEST(WebChart, BandsAreDrawnThroughTheirValuesOnALogarithmicAxis) {
  const Drawing drawing = web_chart(two_cases(3), {}, {});
  std::vector<double> lengths, ratios;
  double one_x = 0;
  for (const Shape& shape : drawing.shapes)
    if (const auto* line = std::get_if<Line>(&shape)) {
      if (line->colour == kAlarm)
        one_x = line->points.front().x;
      if (line->points.size() == 2 && line->points[0].y == line->points[1].y && line->points[0].x > 180 &&
          line->points[1].x < 1225)
        lengths.push_back(line->points[1].x - line->points[0].x);
    }
  ASSERT_EQ(lengths.size(), 6u);
  for (const double length : lengths)
    EXPECT_NEAR(length, lengths.front(), 1e-6);
  // S = 4 of the second web's first case lies two octaves, one band's length, right of the edge at 1.
  double four_x = 0;
  for (const Shape& shape : drawing.shapes)
    if (const auto* area = std::get_if<Area>(&shape); area && area->points.size() == 24) {
      double x = 0;
      for (const Vec2 p : area->points)
        x += p.x / 24;
      if (std::abs(x - one_x - lengths.front()) < 1e-6)
        four_x = x;
    }
  EXPECT_GT(four_x, one_x);
}

TEST(WebChart, APlainChartHoldsNoTitleAndNothingReachesOverItsEdge) {
  for (const std::size_t webs : {0, 1, 7, 60}) {
    const Drawing drawing = web_chart(two_cases(webs), {}, plain());
    EXPECT_EQ(drawing.width_mm, 85);
    const std::vector<Text> texts = texts_of(drawing);
    EXPECT_GT(texts.size(), 3u);
    const double pt = drawing.width / drawing.width_mm * 25.4 / 72;
    for (const Text& text : texts) {
      const double wide = text_width(text.words, text.size, text.bold);
      const double low = text.at.x - (text.anchor == Anchor::start    ? 0
                                      : text.anchor == Anchor::middle ? 0.5 * wide
                                                                      : wide);
      EXPECT_GE(low, 0) << text.words;
      EXPECT_LE(low + wide, drawing.width) << text.words;
      EXPECT_LE(text.at.y, drawing.height) << text.words;
      EXPECT_GE(text.at.y - 0.75 * text.size, 0) << text.words;
      EXPECT_GE(text.size / pt, 8) << text.words; // of 8 to 10 pt (common practice of journals, no source)
      EXPECT_LE(text.size / pt, 10) << text.words;
      EXPECT_EQ(text.words.find("rediction"), std::string::npos);
    }
  }
}

// A PDF's unit is 1/72 in (ISO 32000-1, 8.3.2.3): 85 mm are 240.94 of them.
TEST(WebChart, ThePdfIsAsWideAsAColumnAndTheSameInEachRun) {
  const Drawing drawing = web_chart(two_cases(5), {}, plain());
  const auto first = to_pdf(drawing), second = to_pdf(drawing);
  ASSERT_TRUE(first) << to_text(first.faults().front());
  EXPECT_EQ(*first, *second);
  const std::string text(first->begin(), first->end());
  EXPECT_EQ(text.rfind("%PDF-1.", 0), 0u);
  EXPECT_NE(text.find("240.94"), std::string::npos);
}
