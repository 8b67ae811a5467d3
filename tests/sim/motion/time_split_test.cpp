// Where the time goes and how thick the chip really is, against uniformly accelerated motion by hand.
#include "sim/motion/time_split.hpp"
#include "sim/program/program.hpp"

#include <gtest/gtest.h>

#include <cmath>

using namespace snagmap;

namespace {

MachineCard machine_of(double a) {
  MachineCard machine;
  machine.feed_mm_min = {8000, 5000, 3000};
  machine.rapid_mm_min = {10000, 10000, 3000};
  machine.acceleration_mm_s2 = {a, a, a};
  machine.tool_change_s = 90;
  machine.spindle_run_up_s = 3;
  return machine;
}
Path read(const std::string& text) {
  ProgramOptions options;
  options.start_mm = {0, 0, 0};
  const auto path = parse_program(text + "\nM30\n", "t.nc", options);
  EXPECT_TRUE(path) << (path ? "" : to_text(path.faults().front()));
  return path ? *path : Path{};
}

} // namespace

TEST(RunTime, PartsAreThoseByHandAndAddUp) {
  const Path path = read("T1 M6\nS18000 M3\nG61.1 G0 X50\nG1 X60 F7000\nG4 P1.5\nG0 X0");
  const Motion motion = plan_motion(path, machine_of(500));
  const TimeSplit split = split_time(path, motion);
  const auto from_rest = [](double length, double v) { // trapezoid or triangle, a 500
    return v * v / 500 <= length ? length / v + v / 500 : 2 * std::sqrt(length / 500);
  };
  EXPECT_NEAR(split.cutting_s, from_rest(10, 7000.0 / 60), 1e-6);
  EXPECT_NEAR(split.changes_s, 90, 1e-9);
  EXPECT_NEAR(split.waiting_s, 3 + 1.5, 1e-9);
  EXPECT_NEAR(split.total_s(), motion.total_s(), 1e-9);
  EXPECT_GT(split.rapids_s, 0);
}

TEST(RunTime, FeedsOverTheAxesAreToldByRuns) {
  const Path path = read("S1 M3\nG1 X100 F7000\nY100\nY200 F6000\nX200 Y300\nX0 F1000\nZ-10 F4000");
  const auto runs = feeds_over_limit(path, machine_of(500));
  ASSERT_EQ(runs.size(), 2u);
  EXPECT_EQ(runs[0].line, 3); // Y100 at 7000 and Y200 at 6000; at 45 degrees 5000 sqrt 2 = 7071 is allowed
  EXPECT_EQ(runs[0].moves, 2u);
  EXPECT_EQ(runs[0].last_line, 4);
  EXPECT_NEAR(runs[0].length_mm, 200, 1e-9);
  EXPECT_NEAR(runs[0].programmed_mm_min, 7000, 1e-3);
  EXPECT_NEAR(runs[0].allowed_mm_min, 5000, 1e-9);
  EXPECT_EQ(runs[1].line, 7);
  EXPECT_NEAR(runs[1].allowed_mm_min, 3000, 1e-9);
}

// A raster of short lines averages 1.954 m/min of 7: chip 0.054 instead of 0.194.
TEST(RunTime, ShortLinesThinTheChip) {
  std::string text = "S18000 M3\nG91 F7000\n";
  const double c = std::cos(std::acos(-1.0) / 8), s = std::sin(std::acos(-1.0) / 8);
  for (int i = 0; i < 39; ++i) { // turned by 22.5 degrees: equal acceleration in all directions used
    const double x = i % 2 ? 0 : i % 4 ? -10 : 10, y = i % 2 ? 3 : 0;
    text += "G1 X" + std::to_string(c * x - s * y) + " Y" + std::to_string(s * x + c * y) + "\n";
  }
  MachineCard machine = machine_of(500 * c);
  machine.feed_mm_min = {20000, 20000, 20000};
  const Path path = read(text);
  const Motion motion = plan_motion(path, machine);
  double length = 0, time = split_time(path, motion).cutting_s;
  for (const Move& move : path.moves)
    length += length_mm(move);
  EXPECT_NEAR(length / time * 60 / 1000, 1.954, 1e-3);
  EXPECT_NEAR(length / time * 60 / 36000, 0.054, 5e-4);
}

TEST(RunTime, SlowEndsAreThoseOfTheRampsByHand) {
  const Path path = read("S18000 M3\nG1 X300 F7000");
  for (const double jerk : {0.0, 5000.0}) {
    MachineCard machine = machine_of(500);
    machine.jerk_mm_s3 = {jerk, jerk, jerk};
    const Motion motion = plan_motion(path, machine);
    const double v = 0.05 * 2 * 18000 / 60; // chip 0.05 mm, two flutes: 30 mm/s
    double length = 0, time = 0;            // of one end
    if (jerk == 0)
      length = v * v / (2 * 500), time = v / 500;
    else { // jerk phase to 25 mm/s in 0.1 s over j t^3 / 6, then at 500
      time = 0.1 + 5.0 / 500;
      length = 5000 * 1e-3 / 6 + 0.5 * (25 + 30) * 0.01;
    }
    const SlowEnds ends = slower_than(path, motion, 1, v);
    EXPECT_NEAR(ends.start_mm, length, 1e-5);
    EXPECT_NEAR(ends.end_mm, length, 1e-5);
    EXPECT_NEAR(time_between_s(path, motion, 1, 0, length / 300), time, 1e-6);
    EXPECT_NEAR(time_between_s(path, motion, 1, 1 - length / 300, 1), time, 1e-6);
  }
  const Motion motion = plan_motion(path, machine_of(500));
  EXPECT_EQ(slower_than(path, motion, 1, 200).start_mm, 300); // never so fast: all of it
  EXPECT_EQ(slower_than(path, motion, 1, 0).end_mm, 0);
  EXPECT_EQ(slower_than(path, motion, 0, 30).start_mm, 0); // the run-up has no length
}
