#include "viz/draw/drawing.hpp"
#include "viz/draw/off_screen.hpp"
#include "viz/draw/raster.hpp"

#include <gtest/gtest.h>
#include <vtkImageData.h>
#include <vtkNew.h>
#include <vtkPNGReader.h>

#include <cmath>
#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>

#include <sys/wait.h>
#include <unistd.h>

using namespace snagmap;

namespace {

double lightness(Colour c) {
  // Relative luminance of sRGB (IEC 61966-2-1; WCAG 2.1, "relative luminance").
  const auto linear = [](double v) { return v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4); };
  return 0.2126 * linear(c.r / 255.0) + 0.7152 * linear(c.g / 255.0) + 0.0722 * linear(c.b / 255.0);
}
Colour pixel(const Pixels& p, int x, int y) {
  const std::size_t i =
      3 * (static_cast<std::size_t>(y) * static_cast<std::size_t>(p.columns) + static_cast<std::size_t>(x));
  return {p.rgb[i], p.rgb[i + 1], p.rgb[i + 2]};
}

} // namespace

TEST(Colours, TheMapsLightnessOnlyRises) {
  for (int i = 0; i < 100; ++i)
    EXPECT_LT(lightness(cividis(i / 100.0)), lightness(cividis((i + 1) / 100.0))) << i;
}

TEST(Colours, TextInkReachesTheContrastOfWcagLevelAaa) {
  EXPECT_GE(contrast(kInk, {255, 255, 255}), 7.0);   // WCAG 2.1, 1.4.6
  EXPECT_GE(contrast(kAlarm, {255, 255, 255}), 4.5); // WCAG 2.1, 1.4.3
}

TEST(Colours, OnlyTheEdgeAndBeyondIsAlarming) {
  for (int i = 0; i < 100; ++i)
    EXPECT_FALSE(snag_colour(i / 100.0) == kAlarm) << i;
  EXPECT_TRUE(snag_colour(1.0) == kAlarm);
  EXPECT_TRUE(level_colour(Level::snags) == level_colour(Level::tears));
}

TEST(Colours, HexIsReadAndRefused) {
  EXPECT_TRUE(colour_from_hex("#0a0B0c", kInk) == (Colour{10, 11, 12}));
  EXPECT_TRUE(colour_from_hex("#fff", kInk) == (Colour{255, 255, 255}));
  EXPECT_TRUE(colour_from_hex("white", kInk) == kInk);
  // WCAG 2.1: black on white is 21 to 1; #777777 on white is the well-known near miss of 4.48 (from memory).
  EXPECT_NEAR(contrast({0, 0, 0}, {255, 255, 255}), 21, 1e-9);
  EXPECT_NEAR(contrast({0x77, 0x77, 0x77}, {255, 255, 255}), 4.48, 0.005);
  EXPECT_GE(contrast(kPale, {255, 255, 255}), 4.5);
  EXPECT_GE(contrast(kInk, {255, 255, 255}), 7);
  EXPECT_EQ(to_hex({10, 11, 12}), "#0a0b0c");
}

TEST(Drawing, Base64MatchesTheRfcVectors) { // RFC 4648, section 10
  const auto code = [](const std::string& s) { return base64({s.begin(), s.end()}); };
  EXPECT_EQ(code(""), "");
  EXPECT_EQ(code("f"), "Zg==");
  EXPECT_EQ(code("fo"), "Zm8=");
  EXPECT_EQ(code("foo"), "Zm9v");
  EXPECT_EQ(code("foobar"), "Zm9vYmFy");
}

TEST(Drawing, SvgHoldsTextAndEscapesIt) {
  Drawing drawing;
  drawing.title = "S < 1 & \"firm\"";
  drawing.text({10, 20}, "a<b>\x01");
  const std::string svg = to_svg(drawing);
  EXPECT_NE(svg.find("<title>S &lt; 1 &amp; &quot;firm&quot;</title>"), std::string::npos);
  EXPECT_NE(svg.find(">a&lt;b&gt;\\x01</text>"), std::string::npos);
}

TEST(Drawing, WrappedLinesFitAndLoseNoWord) {
  const std::string words = "the long flute reaches four of the five levels of this web";
  std::string joined;
  for (const std::string& line : wrapped(words, 16, 150)) {
    EXPECT_LE(text_width(line, 16), 150);
    joined += (joined.empty() ? "" : " ") + line;
  }
  EXPECT_EQ(joined, words);
  EXPECT_LE(text_width(fitted(words, 16, 90), 16), 90);
}

// Run by the next test in a process of its own: a fork would inherit the locks of libraries' threads, and
// wait for them at its exit for ever.
TEST(OffScreen, DISABLED_WritesThePidOfItsScreen) {
  ASSERT_FALSE(ensure_off_screen());
  std::ofstream(std::getenv("SNAGMAP_TEST_FILE")) << off_screen_pid();
}

TEST(OffScreen, APictureComesOutWithoutADisplayAndTheScreenIsReaped) {
  const std::string file = testing::TempDir() + "screen_" + std::to_string(getpid());
  const std::string self = std::filesystem::read_symlink("/proc/self/exe").string();
  ASSERT_EQ(std::system(("env -u DISPLAY SNAGMAP_TEST_FILE='" + file + "' '" + self +
                         "' --gtest_also_run_disabled_tests "
                         "--gtest_filter=OffScreen.DISABLED_WritesThePidOfItsScreen >/dev/null")
                            .c_str()),
            0);
  int screen = 0;
  std::ifstream(file) >> screen;
  std::filesystem::remove(file);
  ASSERT_GT(screen, 0);
  EXPECT_EQ(kill(screen, 0), -1) << "Xvfb outlived the program that started it";
}

TEST(OffScreen, MissingXvfbIsSaidWithTheWayOut) {
  int ends[2];
  ASSERT_EQ(pipe(ends), 0);
  const pid_t child = fork();
  if (child == 0) {
    setenv("PATH", "/nowhere", 1);
    const auto fault = ensure_off_screen();
    const std::string words = fault ? to_text(*fault) : "no fault";
    _exit(write(ends[1], words.data(), words.size()) < 0);
  }
  char text[400] = {};
  ASSERT_GT(read(ends[0], text, sizeof text - 1), 0);
  waitpid(child, nullptr, 0);
  EXPECT_STREQ(text, "no pictures: the program Xvfb was not found\n  install the packages xvfb and "
                     "libgl1-mesa-dri; the data files are written all the same");
}

TEST(Raster, ShapesLandOnTheirPixels) {
  ASSERT_FALSE(ensure_off_screen());
  Drawing drawing;
  drawing.width = 400;
  drawing.height = 300;
  drawing.rectangle({100, 50}, {200, 80}, kAlarm);
  const Pixels pixels = rasterised(drawing);
  ASSERT_EQ(pixels.rgb.size(), 3u * 400 * 300);
  int alarming = 0;
  for (int y = 0; y < 300; ++y)
    for (int x = 0; x < 400; ++x)
      alarming += pixel(pixels, x, y) == kAlarm;
  EXPECT_EQ(alarming, 100 * 30);
  EXPECT_TRUE(pixel(pixels, 100, 50) == kAlarm);
  EXPECT_TRUE(pixel(pixels, 199, 79) == kAlarm);
  EXPECT_TRUE(pixel(pixels, 200, 80) == (Colour{255, 255, 255}));
}

TEST(Raster, TwoRunsAreTheSameBytes) {
  ASSERT_FALSE(ensure_off_screen());
  Drawing drawing;
  drawing.text({100, 100}, "S 1.25 (0.9 to 1.6)", 24);
  drawing.line({{0, 0}, {500, 400}}, kAlarm, 3, true);
  EXPECT_EQ(png_of(rasterised(drawing)), png_of(rasterised(drawing)));
}

// libpng, by way of VTK, as the outside reader.
TEST(Png, AnotherReaderFindsEveryPixel) {
  Pixels pixels{37, 11, {}};
  std::uint32_t state = 1;
  for (int i = 0; i < 3 * 37 * 11; ++i)
    pixels.rgb.push_back(static_cast<std::uint8_t>((state = 1664525 * state + 1013904223) >> 24));
  const std::vector<std::uint8_t> bytes = png_of(pixels);
  vtkNew<vtkPNGReader> reader;
  reader->SetMemoryBuffer(bytes.data());
  reader->SetMemoryBufferLength(static_cast<vtkIdType>(bytes.size()));
  reader->Update();
  vtkImageData* const image = reader->GetOutput();
  ASSERT_EQ(image->GetDimensions()[0], pixels.columns);
  ASSERT_EQ(image->GetDimensions()[1], pixels.rows);
  ASSERT_EQ(image->GetNumberOfScalarComponents(), 3);
  for (int y = 0; y < pixels.rows; ++y)
    for (int x = 0; x < pixels.columns; ++x) {
      const auto* const read =
          static_cast<const unsigned char*>(image->GetScalarPointer(x, pixels.rows - 1 - y, 0)); // from below
      const Colour c = pixel(pixels, x, y);
      EXPECT_TRUE(read[0] == c.r && read[1] == c.g && read[2] == c.b) << x << " " << y;
    }
}
