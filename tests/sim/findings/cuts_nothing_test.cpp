// Programs that cut nothing are refused, with the reason and the right heights.
#include "tests/sim/slot_job.hpp"

namespace snagmap {
namespace {

/// What the preview says of a program in the slot's sheet (x -20 to 120, y -30 to 30, z -20 to 0 mm).
std::string refusal(const std::string& lines, Scene scene = slot::scene()) {
  scene.program_file = "air.nc";
  scene.program_text = "G21 G90 T1 M6\nS18000 M3 G0 X0 Y0 Z50\n" + lines + "\nM30\n";
  PreviewOptions options;
  options.verify = SolveChoice::none();
  const Outcome<Preview> found = preview(scene, options);
  return found ? "" : to_text(found.faults().front());
}

TEST(CutsNothing, AboveTheSheetNamesTheLowestPointAndTheSheetsTop) {
  const std::string said = refusal("G1 Z2 F900\nX50 F3000\nZ1.5\nX60");
  EXPECT_EQ(
      said.rfind(
          "air.nc:5: the program cuts nothing: its lowest point, z 1.50 mm, is not below the sheet's top, "
          "z 0.00 mm",
          0),
      0u)
      << said;
  Scene on_table = slot::scene();
  on_table.start_mm = {0, 0, 50};
  on_table.zero_on_table = true;
  on_table.sheet = {{-20, -30, 0}, {120, 30, 20}};
  const std::string other = refusal("G1 Z25 F900\nX50", on_table);
  EXPECT_NE(other.find("z 25.00 mm, is not below the sheet's top, z 20.00 mm"), std::string::npos) << other;
}

TEST(CutsNothing, BesideTheSheetNamesBothPlaces) {
  const std::string said = refusal("G0 X300\nG1 Z-5 F900\nX350 F3000\nG0 Z5");
  EXPECT_NE(
      said.find("from X297.00 to X353.00 and Y-3.00 to Y3.00 mm, down to z -5.00 mm; the sheet lies beside "
                "that, from X-20.00 to X120.00 and Y-30.00 to Y30.00 mm"),
      std::string::npos)
      << said;
}

TEST(CutsNothing, WithoutAFeedMoveItIsSaidTooAndACutBetweenTwoColumnsIsACut) {
  EXPECT_NE(refusal("G0 X50\nZ-5\nZ5").find("cuts nothing: it has no feed move"), std::string::npos);
  Scene needle = slot::scene(); // 0.2 mm wide, between the middles of the columns at 0.5 mm
  needle.cutters[0].diameter_mm = needle.cutters[0].shank_diameter_mm = 0.2;
  EXPECT_EQ(refusal("G1 Z-5 F900\nX50 F3000\nG0 Z5", needle), "") << "what it takes is known from the moves";
}

TEST(CutsNothing, AProgramThatCutsAnythingIsAnswered) {
  EXPECT_EQ(refusal("G1 Z-0.1 F900\nX50 F3000\nG0 Z5"), "");
  EXPECT_EQ(refusal("G0 X122.5 Y0\nG1 Z-5 F900\nY20 F3000\nG0 Z5"), ""); // 0.5 mm of its rim in the sheet
}

} // namespace
} // namespace snagmap
