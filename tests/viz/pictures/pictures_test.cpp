// Pictures by content: what must be seen is looked for where the projection says it stands.
#include "tests/viz/pictures/pictures_fixture.hpp"
#include "viz/pictures/pictures.hpp"

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <iterator>

using namespace snagmap;
using namespace snagmap::pictures;

TEST_F(Pictures, TheTearZoneCoversThePixelsOfItsWebAndNoOthers) {
  PictureOptions options;
  PictureSource source(*preview, options);
  Picture picture = sheet_picture(source);
  const Projection view = picture.stage->projection();
  const Pixels pixels = rasterised(picture.drawing, picture.stage.get());
  // S is at least 1 on the last pass where 1.6 (1 - |y| / 34) >= 1: |y| <= 12.75. Corners of samples'
  // strips: 1.6 mm.
  int hit = 0, asked = 0, wrong = 0, beside = 0;
  for (double y = -10; y <= 10; y += 0.5)
    for (double x = -3.5; x <= 3.5; x += 0.5) {
      const Vec2 at = view({x, y, 0});
      // The badge of the spot stands over part of the web.
      if (norm(at - view({4, preview->spots.front().place_mm.y, 0}) - Vec2{13, -26}) < 60)
        continue;
      ++asked;
      hit += reddish(pixels, at);
    }
  for (double y = -28; y <= 28; y += 1)
    for (const double x : {-44.0, -40.0, -38.0, 39.0, 43.0}) {
      ++beside;
      wrong += reddish(pixels, view({x, y, 0}));
    }
  EXPECT_GT(asked, 200);
  EXPECT_GE(hit, asked * 97 / 100);
  EXPECT_EQ(wrong, 0) << "of " << beside;
}

TEST_F(Pictures, NoTextIsCutOffAtAnyShape) {
  for (const auto& [width, height] : {std::pair{1600, 1000}, std::pair{1600, 1200}, std::pair{1000, 1000}}) {
    PictureOptions options;
    options.width = width;
    options.height = height;
    PictureSource source(*preview, options);
    for (const Picture& picture : all_pictures(source))
      for (const Text& text : texts(picture.drawing)) {
        const double wide = text_width(text.words, text.size, text.bold),
                     u = std::min(width / 1600.0, height / 1000.0);
        EXPECT_GE(text.size, 15.9 * u) << picture.name << ": " << text.words;
        if (text.upright)
          continue;
        const double left = text.at.x - (text.anchor == Anchor::end      ? wide
                                         : text.anchor == Anchor::middle ? wide / 2
                                                                         : 0);
        EXPECT_GE(left, 0) << picture.name << ": " << text.words;
        EXPECT_LE(left + wide, width) << picture.name << ": " << text.words;
        EXPECT_GE(text.at.y - text.size, 0) << picture.name << ": " << text.words;
        EXPECT_LE(text.at.y, height) << picture.name << ": " << text.words;
      }
  }
}

TEST_F(Pictures, EveryPictureHasTitleLegendUnitsAndTheReservation) {
  PictureOptions options;
  PictureSource source(*preview, options);
  for (const Picture& picture : all_pictures(source)) {
    SCOPED_TRACE(picture.name);
    const std::vector<Text> all = texts(picture.drawing);
    EXPECT_FALSE(picture.drawing.title.empty());
    EXPECT_FALSE(picture.drawing.description.empty());
    EXPECT_TRUE(
        std::any_of(all.begin(), all.end(), [&](const Text& t) { return t.words == picture.drawing.title; }));
    EXPECT_TRUE(std::any_of(all.begin(), all.end(),
                            [](const Text& t) { return t.words.find("mm") != std::string::npos; }));
    EXPECT_TRUE(std::any_of(all.begin(), all.end(),
                            [](const Text& t) { return t.words.rfind("A prediction", 0) == 0; }));
    for (const Text& t : all)
      EXPECT_EQ(t.words.find("safe"), std::string::npos) << t.words;
  }
}

TEST_F(Pictures, PastTheEdgeTheBentWebIsLabelledShapeOnly) {
  PictureOptions options;
  PictureSource source(*preview, options);
  for (std::size_t i = 0; i < preview->spots.size(); ++i) {
    const Picture picture = spot_picture(source, preview->spots[i]);
    const std::vector<Text> all = texts(picture.drawing);
    const bool shape = std::any_of(all.begin(), all.end(),
                                   [](const Text& t) { return t.words.rfind("Shape only", 0) == 0; });
    const bool scale = std::any_of(all.begin(), all.end(),
                                   [](const Text& t) { return t.words.rfind("Lean drawn ", 0) == 0; });
    EXPECT_EQ(shape, preview->spots[i].answer.s >= 1);
    EXPECT_EQ(scale, preview->spots[i].answer.s < 1);
  }
}

TEST_F(Pictures, ScaleBarsAreTrue) {
  PictureOptions options;
  PictureSource source(*preview, options);
  const Picture picture = sheet_picture(source);
  const Projection view = picture.stage->projection();
  // The bar's filled half, left of its words "20 mm", against the projection's own scale.
  const std::vector<Text> all = texts(picture.drawing);
  const auto words = std::find_if(all.begin(), all.end(), [](const Text& t) {
    return t.words.size() > 3 && t.words.find(" mm") == t.words.size() - 3 &&
           t.words.find_first_not_of("0123456789. m") == std::string::npos;
  });
  ASSERT_NE(words, all.end());
  double bar_px = 0;
  for (const Shape& shape : picture.drawing.shapes)
    if (const auto* const line = std::get_if<Line>(&shape))
      if (line->points.size() == 5 && std::abs(line->points[1].x + 10 - words->at.x) < 0.5)
        bar_px = line->points[1].x - line->points[0].x;
  EXPECT_NEAR(bar_px / view.px_per_mm, std::stod(words->words), 1e-6);
  // And lengths across the line of sight are true in the projection.
  EXPECT_NEAR(norm(view(view.centre + 10.0 * view.right) - view(view.centre)), 10 * view.px_per_mm, 1e-9);
}

TEST_F(Pictures, TheModeOfABentWebIsTheAnswersOwn) {
  const Spot& spot = preview->spots.back();
  ASSERT_TRUE(spot.answer.has_lean);
  BentWeb bent(spot, *preview);
  bent.factor = 1;
  const double step = (spot.question.contact.high_mm - spot.question.contact.low_mm) / kSlices;
  for (std::size_t i = 0; i < kSlices; ++i)
    EXPECT_NEAR(bent.at_height(spot.question.contact.low_mm + (static_cast<double>(i) + 0.5) * step),
                spot.answer.u_max_mm * spot.answer.mode[i], 1e-9);
  EXPECT_EQ(bent.at_height(0), 0);
  // Built-in ends and the floor stay where they are.
  EXPECT_EQ(norm(bent({0, 20, -1})), 0);
  EXPECT_EQ(norm(bent({0, 0, spot.place_mm.z})), 0);
}

TEST_F(Pictures, TwoRunsWriteTheSameBytes) {
  namespace fs = std::filesystem;
  const fs::path place = fs::temp_directory_path() / ("snagmap-pictures-" + std::to_string(getpid()));
  PictureOptions options;
  options.width = 640;
  options.height = 400;
  options.worst = 1;
  std::vector<std::string> bytes[2];
  for (int run = 0; run < 2; ++run) {
    const auto files = write_pictures(*preview, (place / std::to_string(run)).string(), options);
    ASSERT_TRUE(files);
    EXPECT_EQ(files->size(), 2u + 2 * 9);
    for (const std::string& name : *files) {
      std::ifstream file(place / std::to_string(run) / name, std::ios::binary);
      bytes[run].emplace_back(std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>());
      EXPECT_GT(bytes[run].back().size(), 1000u) << name;
    }
  }
  EXPECT_EQ(bytes[0], bytes[1]);
  fs::remove_all(place);
}

TEST_F(Pictures, SizeAndBackgroundAreReadOrRefusedWithTheWayOut) {
  const auto good = picture_options("1600x1200", "#fffff0");
  ASSERT_TRUE(good);
  EXPECT_EQ(good->width, 1600);
  EXPECT_EQ(good->height, 1200);
  EXPECT_TRUE(good->background == (Colour{255, 255, 240}));
  for (const auto& [size, background, what] :
       {std::tuple{"1600", "", "\"1600\" is no picture size"},
        {"1600x", "", "\"1600x\" is no picture size"},
        {"1600x1000px", "", "\"1600x1000px\" is no picture size"},
        {"-5x400", "", "a picture of -5x400 pixels"},
        {"", "white", "\"white\" is no colour"},
        {"", "#202020", "dark words would be hard to read on the background #202020"}}) {
    const auto refused = picture_options(size, background);
    ASSERT_FALSE(refused) << size << background;
    EXPECT_EQ(refused.faults().front().what, what);
    EXPECT_FALSE(refused.faults().front().way_out.empty());
  }
}

TEST_F(Pictures, AWrongNameOrSizeIsRefusedWithTheWayOut) {
  PictureOptions options;
  options.which = {"shet"};
  const auto named = write_pictures(*preview, "/tmp", options);
  ASSERT_FALSE(named);
  EXPECT_EQ(named.faults().front().what, "no picture is called 'shet'");
  options.which = {};
  options.width = 10;
  const auto sized = write_pictures(*preview, "/tmp", options);
  ASSERT_FALSE(sized);
  EXPECT_EQ(sized.faults().front().way_out, "each side takes 320 to 8000 pixels");
}
