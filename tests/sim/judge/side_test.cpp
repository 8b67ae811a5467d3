// The side of the cut through the whole pipeline, from the words of a program to the spot.
//
// Climb and conventional after Y. Altintas, Manufacturing Automation, 2nd edition, section 2.1: in down
// (climb) milling the tooth moves with the feed of the workpiece, against the travel of the cutter; in up
// (conventional) milling the other way. The book draws right-hand rotation, which is M3 (clockwise seen from
// the spindle).
#include "tests/sim/slot_job.hpp"

#include <fmt/format.h>

using namespace snagmap;

namespace {

/// By the tooth's velocity where it touches a wall: `to_wall` from the axis to the wall, `travel` of the
/// cutter.
bool climbs(Vec2 to_wall, Vec2 travel, bool clockwise) {
  const Vec2 tooth = (clockwise ? -1.0 : 1.0) * Vec2{-to_wall.y, to_wall.x}; // omega x arm
  return dot(tooth, travel) < 0;
}

/// The sides of all spots of webs `w_mm` thick, as cut by the program.
void expect_side(const std::string& lines, double w_mm, bool climb) {
  Scene scene = slot::scene();
  scene.voxel_mm = 1;
  const Preview found = slot::run(scene, lines);
  int seen = 0;
  for (const Spot& spot : found.spots)
    if (std::abs(spot.question.web.w_mm - w_mm) < 0.2) {
      ++seen;
      EXPECT_EQ(spot.question.climb, climb) << lines << "line " << spot.program_line;
    }
  EXPECT_GT(seen, 0) << lines;
}

} // namespace

TEST(Side, StraightWallsBothWaysMirroredAndBothSpindleSenses) {
  for (const bool clockwise : {true, false})
    for (const double wall_at :
         {-1.0, 1.0}) // of the second slot, seen along +x: the wall is at its right or left
      for (const double way : {-1.0, 1.0}) {
        const double y = -10 * wall_at; // of the second slot; the first is at y = 0
        const std::string lines = fmt::format(
            "M5\nS18000 {}\nG1 Z-8 F800\nG1 X90 F2000\nG0 Z5\nG0 X{} Y{}\nG1 Z-8 F800\nG1 X{} F2000\nG0 Z5\n",
            clockwise ? "M3" : "M4", way > 0 ? 0 : 90, y, way > 0 ? 90 : 0);
        expect_side(lines, 4, climbs({0, wall_at}, {way, 0}, clockwise));
      }
}

TEST(Side, RoundWallsFromWithinAndFromWithoutBothWaysAndBothSpindleSenses) {
  for (const bool clockwise : {true, false})
    for (const bool from_within : {true, false})
      for (const bool left_turn : {true, false}) {
        // A ring of foam between two grooves on radii 10 and 20 about X40 Y0; the second groove thins it to 4
        // mm.
        const double first = from_within ? 20 : 10, second = from_within ? 10 : 20;
        const auto groove = [&](double r) {
          return fmt::format("G0 X{} Y0\nG1 Z-8 F800\n{} X{} Y0 I{} J0 F2000\nG0 Z5\n", 40 + r,
                             left_turn ? "G3" : "G2", 40 + r, -r);
        };
        const std::string lines =
            std::string("M5\nS18000 ") + (clockwise ? "M3\n" : "M4\n") + groove(first) + groove(second);
        // At the start, X40 + r Y0: the wall lies outward for the inner groove, and a left turn begins along
        // +y.
        expect_side(lines, 4, climbs({from_within ? 1.0 : -1.0, 0}, {0, left_turn ? 1.0 : -1.0}, clockwise));
      }
}

TEST(Side, ASpindleThatIsTurnedRoundRunsUpAgain) {
  const Scene scene = slot::scene();
  const Preview one = slot::run(scene, "G1 X5 Z-3 F600\nM4\nG1 X10\nM4\nG1 X15\n");
  const Preview none = slot::run(scene, "G1 X5 Z-3 F600\nG1 X10\nG1 X15\n");
  // The machine's run-up is 3 s; the ways are the same.
  EXPECT_NEAR(one.motion.total_s() - none.motion.total_s(), scene.machine.spindle_run_up_s, 1e-6);
  EXPECT_LT(one.path.moves.back().spindle_rpm, 0);
}
