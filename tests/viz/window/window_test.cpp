// The window is driven as a user would: slider dragged, walls clicked, keys pressed; what it then shows is
// compared with the preview's own numbers.
#include "viz/window/window.hpp"

#include "tests/viz/preview_fixture.hpp"
#include "viz/draw/colours.hpp"
#include "viz/draw/off_screen.hpp"
#include "viz/window/panel.hpp"

#include <fmt/format.h>
#include <vtkCommand.h>
#include <vtkNew.h>
#include <vtkRenderWindow.h>
#include <vtkRenderWindowInteractor.h>
#include <vtkUnsignedCharArray.h>

#include <filesystem>

using namespace snagmap;

namespace {

struct Look : testing::Test {
  static void SetUpTestSuite() {
    ASSERT_FALSE(ensure_off_screen());
    preview = new Preview(fixture_preview());
  }
  static void TearDownTestSuite() { delete preview; }
  static Preview* preview;

  static void key(LookWindow& window, const char* name) {
    window.interactor()->SetKeySym(name);
    window.interactor()->SetKeyCode(std::string(name).size() == 1 ? name[0] : '\0');
    window.interactor()->InvokeEvent(vtkCommand::KeyPressEvent);
    window.interactor()->InvokeEvent(
        vtkCommand::CharEvent); // X sends both; VTK's widgets have keys of their own
  }
  static void mouse(LookWindow& window, int x, int y, unsigned long event) {
    window.interactor()->SetEventInformation(x, y);
    window.interactor()->InvokeEvent(event);
  }
  /// From where its knob stands, in a window of 800 x 500.
  static void drag_slider(LookWindow& window, double to) {
    const auto x_of = [&](double t) {
      const double share = kSliderInset + (1 - 2 * kSliderInset) * t / preview->motion.total_s();
      return static_cast<int>(std::lround(800 * (kSliderLow + (kSliderHigh - kSliderLow) * share)));
    };
    const int y = static_cast<int>(500 * kSliderHeight);
    const double from = window.state().time_s;
    mouse(window, x_of(from), y, vtkCommand::MouseMoveEvent);
    mouse(window, x_of(from), y, vtkCommand::LeftButtonPressEvent);
    for (int k = 1; k <= 4; ++k)
      mouse(window, x_of(from + (to - from) * k / 4), y, vtkCommand::MouseMoveEvent);
    mouse(window, x_of(to), y, vtkCommand::LeftButtonReleaseEvent);
  }
  static int alarming(LookWindow& window) {
    const int* const size = window.window()->GetSize();
    vtkNew<vtkUnsignedCharArray> bytes;
    window.window()->GetPixelData(0, 0, size[0] - 1, size[1] - 1, 0, bytes);
    int count = 0;
    for (vtkIdType i = 0; i < bytes->GetNumberOfValues(); i += 3) {
      const int r = bytes->GetValue(i), g = bytes->GetValue(i + 1), b = bytes->GetValue(i + 2);
      count += r > 120 && 3 * g < r && 4 * b < r;
    }
    return count;
  }
};
Preview* Look::preview = nullptr;

} // namespace

TEST_F(Look, OpensOnTheWorstSpot) {
  LookWindow window(*preview, 800, 500, true);
  const Spot& worst = preview->spots.front();
  EXPECT_EQ(window.state().spot, 0);
  EXPECT_DOUBLE_EQ(window.state().time_s, worst.time_s);
  EXPECT_EQ(window.state().program_line, worst.program_line);
  EXPECT_EQ(window.state().picked.front(), fmt::format("Web {}: S {:.2f}, tears", worst.web, worst.answer.s));
  EXPECT_GT(alarming(window), 800);
}

TEST_F(Look, TheSliderDraggedShowsThatMoment) {
  LookWindow window(*preview, 800, 500, true);
  const double to = 0.4 * preview->motion.total_s();
  drag_slider(window, to);
  const double pixel_s = preview->motion.total_s() / (800 * (kSliderHigh - kSliderLow));
  EXPECT_NEAR(window.state().time_s, to, 3 * pixel_s);
  // Whatever moment it is, line and move are the program's own.
  const PathPlace place = place_at(preview->path, preview->motion, window.state().time_s);
  EXPECT_EQ(window.state().move, place.move);
  EXPECT_EQ(window.state().program_line, preview->path.moves[place.move].line);
  EXPECT_EQ(window.state().spot, -1);
}

TEST_F(Look, NoKeySwitchesTheSliderOff) {
  LookWindow window(*preview, 800, 500, true);
  for (const char* name : {"i", "o", "n", "2", "h"}) {
    SCOPED_TRACE(name);
    key(window, name);
    const double to =
        (window.state().time_s > 0.5 * preview->motion.total_s() ? 0.3 : 0.7) * preview->motion.total_s();
    drag_slider(window, to);
    EXPECT_NEAR(window.state().time_s, to,
                3 * preview->motion.total_s() / (800 * (kSliderHigh - kSliderLow)));
  }
}

TEST_F(Look, PlayingStartsAgainOnceItIsPlayedOut) {
  LookWindow window(*preview, 400, 320, true);
  key(window, "End");
  key(window, "space");
  EXPECT_TRUE(window.state().playing);
  EXPECT_EQ(window.state().time_s, 0);
  key(window, "space");
  EXPECT_FALSE(window.state().playing);
}

TEST_F(Look, AClickedWallTellsItsNumbers) {
  LookWindow window(*preview, 800, 500, true);
  window.press("End");
  window.press("f");
  const Vec2 at = window.pixel_of({kFixtureWeb_mm / 2, -6, -4}); // on the web's wall in the second pocket
  mouse(window, static_cast<int>(at.x), static_cast<int>(at.y), vtkCommand::LeftButtonPressEvent);
  mouse(window, static_cast<int>(at.x), static_cast<int>(at.y), vtkCommand::LeftButtonReleaseEvent);
  // The sample that decides there: the highest S whose wall stands within the strip.
  const PathSample* worst = nullptr;
  for (const PathSample& s : preview->samples)
    if (s.web == 0 && std::abs(s.wall_y_mm + 6) < 1.2 && (!worst || s.s > worst->s))
      worst = &s;
  ASSERT_NE(worst, nullptr);
  ASSERT_EQ(window.state().picked.size(), 8u);
  EXPECT_EQ(window.state().picked[7], "web 0");
  // A pixel's rounding may move the strip by one sample of 1.6 mm, along which S changes by 0.047 a
  // millimetre; the words are rounded to 0.005.
  const double slack = 1.6 * 0.047 + 0.01;
  EXPECT_NEAR(std::stod(window.state().picked[0].substr(2)), worst->s, slack);
  EXPECT_EQ(window.state().picked[1], "w 8.00 mm");
  EXPECT_EQ(window.state().picked[2], "h 24.0 mm");
  EXPECT_EQ(window.state().picked[3], "L 40.0 mm");
  EXPECT_EQ(window.state().picked[5].rfind("program line ", 0), 0u);
  const int line = std::stoi(window.state().picked[5].substr(13));
  EXPECT_TRUE(std::any_of(preview->samples.begin(), preview->samples.end(), [&](const PathSample& s) {
    return s.web == 0 && preview->path.moves[s.move].line == line && std::abs(s.s - worst->s) < slack;
  }));
}

TEST_F(Look, AClickBesideEveryWebSaysSo) {
  LookWindow window(*preview, 800, 500, true);
  const Vec2 at = window.pixel_of({-40, -25, 0});
  window.click(static_cast<int>(at.x), static_cast<int>(at.y));
  EXPECT_EQ(window.state().picked, std::vector<std::string>{"no web beside the cutter here"});
}

TEST_F(Look, KeysDoWhatTheMouseDoes) {
  LookWindow window(*preview, 800, 500, true);
  key(window, "Home");
  EXPECT_EQ(window.state().time_s, 0);
  key(window, "n");
  EXPECT_EQ(window.state().spot, 3); // the first pass has the lowest snag number: ranked last
  key(window, "n");
  EXPECT_EQ(window.state().spot, 2);
  key(window, "p");
  EXPECT_EQ(window.state().spot, 3);
  const std::uint32_t move = window.state().move;
  key(window, "period");
  EXPECT_EQ(window.state().move, move + 1);
  key(window, "comma");
  EXPECT_EQ(window.state().move, move);
  key(window, "End");
  EXPECT_DOUBLE_EQ(window.state().time_s, preview->motion.total_s());
  key(window, "plus");
  EXPECT_EQ(window.state().exaggeration, 2);
  key(window, "3");
  EXPECT_EQ(window.state().colouring, Colouring::thickness);
  key(window, "space");
  EXPECT_TRUE(window.state().playing);
}

TEST_F(Look, ColoursFollowTheChoice) {
  LookWindow window(*preview, 800, 500, true);
  window.press("End");
  window.press("1");
  const int by_level = alarming(window);
  window.press("3"); // thickness knows no alarm
  EXPECT_LT(alarming(window), by_level / 4);
  window.press("2");
  EXPECT_GT(alarming(window), by_level / 2);
}

TEST_F(Look, TheSavedPictureIsThere) {
  LookWindow window(*preview, 400, 320, true);
  const std::string file =
      (std::filesystem::temp_directory_path() / fmt::format("snagmap-look-{}.png", getpid())).string();
  EXPECT_FALSE(window.save(file));
  EXPECT_GT(std::filesystem::file_size(file), 2000u);
  std::filesystem::remove(file);
}

TEST_F(Look, WithoutADisplayTheFaultSaysWhatToDo) {
  const std::string kept = std::getenv("DISPLAY") ? std::getenv("DISPLAY") : "";
  unsetenv("DISPLAY");
  const auto fault = look(*preview, "open the report instead");
  setenv("DISPLAY", kept.c_str(), 1);
  ASSERT_TRUE(fault);
  EXPECT_EQ(fault->what, "no display for the window");
  EXPECT_EQ(fault->way_out, "open the report instead");
}
