// The run in time against closed forms and its own linear limit.
#include "models/tooth/in_time.hpp"

#include "models/base/constants.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

using namespace snagmap;

namespace {

/// Two modes, six slices, a helix; the first mode of `f1_Hz`.
ToothedWeb web_of(double f1_Hz, double dz_mm, bool climb) {
  ToothedWeb web;
  web.loss_factor = 0.12, web.helix_rad = 0.5, web.tooth_time_s = 1.0 / 600;
  web.modes = {{2 * kPi * f1_Hz, {}}, {2 * kPi * 3.1 * f1_Hz, {}}};
  for (int s = 0; s < 6; ++s) {
    web.modes[0].shape.push_back(400 * (s + 1) / 6.0);
    web.modes[1].shape.push_back(300 * std::cos(0.6 * s));
    ToothSlice slice;
    slice.height_mm = s * 1.5, slice.dz_mm = dz_mm;
    slice.cut.radius_mm = 3.175, slice.cut.feed_mm = 0.1, slice.cut.flutes = 2;
    slice.cut.climb = climb, slice.cut.severing_MPa = 0.5, slice.cut.thrust = 0.2, slice.cut.arc = {0, 1.1};
    web.slices.push_back(slice);
  }
  return web;
}

/// Root of the mean square of the difference of two runs over some teeth.
double apart(const ToothTrace& a, const ToothTrace& b, std::size_t first, std::size_t last) {
  double sum = 0;
  for (std::size_t n = first; n < last; ++n)
    sum += (a.lean_mm[n] - b.lean_mm[n]) * (a.lean_mm[n] - b.lean_mm[n]);
  return std::sqrt(sum / double(last - first));
}

} // namespace

// Textbook: a damped mode rings down by exp(-loss w t / 2); no force, so stepped exactly.
TEST(ToothInTime, WebWithoutTeethRingsDownByItsLoss) {
  ToothedWeb web = web_of(100, 1, false);
  web.modes.resize(1);
  for (ToothSlice& slice : web.slices)
    slice.cut.severing_MPa = 0;
  const ToothTrace trace = run_teeth(web, {0.25, 0, 1.0});
  const double w = 2 * kPi * 100, period_teeth = 6; // 600 teeth a second over 100 Hz
  ASSERT_EQ(150u, trace.lean_mm.size());
  const auto largest = [&](std::size_t first) {
    return *std::max_element(trace.most_mm.begin() + long(first), trace.most_mm.begin() + long(first + 12));
  };
  // Twenty periods on; the damped period is longer by loss^2 / 8, so the peak is met in the same step.
  const double expected = std::exp(-0.12 * w / 2 * 20 * period_teeth / 600);
  EXPECT_NEAR(expected, largest(120) / largest(0), 0.02 * expected);
}

// A web far stiffer than the teeth are strong leans by the mean force of the textbook over its stiffness.
TEST(ToothInTime, StiffWebLeansByTheMeanForce) {
  for (const bool climb : {false, true}) {
    ToothedWeb web = web_of(2000, 0.05, climb);
    web.modes.resize(1);
    double expected = 0;
    for (std::size_t s = 0; s < web.slices.size(); ++s)
      expected += web.modes[0].shape[s] * web.slices[s].dz_mm * mean_wall_force(web.slices[s].cut).q_N_mm;
    const double w = web.modes[0].omega_rad_s;
    double mean_shape = 0;
    for (const double shape : web.modes[0].shape)
      mean_shape += shape / 6;
    expected *= mean_shape / (w * w);
    const double lean = summary_of(run_teeth(web, {0.2, 0, 0})).lean_mm;
    EXPECT_NEAR(expected, lean, 0.01 * std::abs(expected)) << climb; // widened by its own lean: under 1e-3
  }
}

// Small motions round the steady one grow from tooth to tooth by the multiplier: two runs that differ by a
// ten-thousandth of the feed, over 120 teeth, whose phases leave at most a factor 1.5 over them: 0.4 %.
TEST(ToothInTime, SmallMotionsGrowByTheMultiplier) {
  for (const bool climb : {false, true})
    for (const double dz : {0.02, 0.05, 0.1}) {
      const ToothedWeb web = web_of(110, dz, climb);
      const ToothRun still{0.5, 240, 0}, moved{0.5, 240, 1e-5};
      const ToothTrace a = run_teeth(web, still), b = run_teeth(web, moved);
      ASSERT_FALSE(a.left);
      const double growth = std::pow(apart(a, b, 160, 190) / apart(a, b, 40, 70), 1.0 / 120);
      EXPECT_NEAR(multiplier(web).magnitude, growth, 0.005) << climb << " " << dz;
    }
}

TEST(ToothInTime, HalvedStepsChangeNothingStated) {
  for (const bool climb : {false, true}) {
    const ToothedWeb web = web_of(110, 0.6, climb);
    const ToothTrace whole = run_teeth(web, {0.6, 0, 0});
    const ToothTrace half = run_teeth(web, {0.6, 2 * whole.steps, 0});
    const ToothSummary a = summary_of(whole), b = summary_of(half);
    // Stated to two figures; an unsteady swing repeats to a few in a hundred of its size.
    const double size = std::max({std::abs(a.lean_mm), a.swing_mm, 1e-3});
    EXPECT_NEAR(a.lean_mm, b.lean_mm, 0.03 * size) << climb;
    EXPECT_NEAR(a.swing_mm, b.swing_mm, 0.05 * size) << climb;
    EXPECT_NEAR(a.over_cut_mm, b.over_cut_mm, 0.05 * size) << climb;
  }
}

// Chips that saturate bound what runs away: past its edge the web swings, but by a finite lean.
TEST(ToothInTime, WebPastItsEdgeSwingsByAFiniteLean) {
  const ToothEdge edge = tooth_edge(web_of(110, 1, false));
  ASSERT_TRUE(edge.found);
  const double past = 1.5 * edge.factor;
  for (const bool climb : {false, true}) {
    ToothedWeb web = web_of(110, past, climb);
    for (ToothSlice& slice : web.slices)
      slice.cut.saturated_N_mm = 0.06; // of chips of 0.05 N/mm at the most, when nothing moves
    EXPECT_EQ(!climb, multiplier(web).magnitude > 1);
    const ToothTrace trace = run_teeth(web, {1.0, 0, 1e-4});
    const ToothSummary swing = summary_of(trace);
    EXPECT_FALSE(trace.left);
    // Past the edge it swings by more than the feed a tooth, from the other side it follows the teeth.
    EXPECT_EQ(!climb, swing.swing_mm > 0.1) << swing.swing_mm;
  }
}
