#include "models/mechanics/hold_down.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

using namespace snagmap;

TEST(HoldDown, KendallPeelEnergyOfATape) {
  // Kendall 1975: 25 N on 25 mm is 1000 J/m2 at 90 degrees and 2000 at 180.
  EXPECT_NEAR(peel_energy_N_mm(25.0 / 25, 90) * 1000, 1000, 1e-9);
  EXPECT_NEAR(peel_energy_N_mm(25.0 / 25, 180) * 1000, 2000, 1e-9);
  EXPECT_NEAR(peel_force_N_mm(peel_energy_N_mm(0.3, 60), 60), 0.3, 1e-12);
}

TEST(HoldDown, BareOpenCellsAreNotClamped) {
  EXPECT_EQ(clamping_kPa(*find_foam("pu-32"), Film::none, 25).high, 0);
}

TEST(HoldDown, FilmOnTopIsLimitedByTheFoamsCollapse) {
  // Gibson and Ashby 1997: elastic collapse at 0.05 E; 2.5 kPa at 22 kg/m3, 5 kPa at 32.
  EXPECT_NEAR(clamping_kPa(*find_foam("pu-22"), Film::on_top, 25).nominal, 2.5, 1e-12);
  EXPECT_NEAR(clamping_kPa(*find_foam("pu-32"), Film::on_top, 25).nominal, 5, 1e-12);
  EXPECT_EQ(clamping_kPa(*find_foam("pu-32"), Film::on_top, 1).high,
            1); // never more than the pump gives
}

TEST(HoldDown, ClosedCellsAreClampedByTheWholeVacuum) {
  EXPECT_EQ(clamping_kPa(*find_foam("pe-32"), Film::none, 25).nominal, 25);
  EXPECT_GT(clamping_kPa(*find_foam("pu-32"), Film::under, 25).nominal, 5); // until the bond gives
}

TEST(HoldDown, FoamTearsBeforeAStrongTapeDoes) {
  const FoamCard foam = *find_foam("pu-22");
  const Banded strong{500, 500, 500, "the scene", false};
  const TapeStrength tape = capped_by(foam, {strong, strong, strong});
  EXPECT_EQ(tape.tension_kPa.nominal, foam.tensile_kPa.nominal);
  EXPECT_NEAR(tape.peel_N_mm.nominal, foam.Gc_N_mm.nominal, 1e-12); // at 90 degrees the force is the energy
  EXPECT_LT(tape_on(foam).shear_kPa.nominal, tape_on(*find_foam("pe-32")).shear_kPa.nominal);
}

TEST(HoldDown, EachModeIsStrengthOverLoad) {
  const auto exact = [](double x) { return Banded{x, x, x, "test", false}; };
  const TapeStrength tape{exact(30), exact(20), exact(0.1)};
  const Footprint pad{10000, 100, 100};
  EXPECT_NEAR(tape_safety(tape, pad, {10, 0, 0}).nominal, 20e-3 * 10000 / 10, 1e-12);
  EXPECT_EQ(tape_safety(tape, pad, {10, 0, 0}).give, Give::slides);
  EXPECT_NEAR(tape_safety(tape, pad, {0, 10, 0}).nominal, 30e-3 * 10000 / 10, 1e-12);
  EXPECT_EQ(tape_safety(tape, pad, {0, 10, 0}).give, Give::lifts);
  EXPECT_NEAR(tape_safety(tape, pad, {1, 1, 500}).nominal, 0.1 * 100 * 100 / 500, 1e-12);
  EXPECT_EQ(tape_safety(tape, pad, {1, 1, 500}).give, Give::peels);
  EXPECT_TRUE(std::isinf(tape_safety(tape, pad, {0, -5, 0}).nominal));
  EXPECT_EQ(tape_safety(tape, {0, 100, 100}, {1, 0, 0}).nominal, 0); // no tape
}

TEST(HoldDown, MoreHoldNeverLowersTheFactorMoreLoadNeverRaisesIt) {
  std::mt19937_64 random(11);
  const auto between = [&](double a, double b) { return std::uniform_real_distribution<>(a, b)(random); };
  const TapeStrength tape = tape_on(*find_foam("pe-24"));
  for (int k = 0; k < 1000; ++k) {
    const Footprint pad{between(100, 1e5), between(5, 300), between(5, 300)};
    const PieceLoad load{between(0, 20), between(-5, 10), between(0, 400)};
    Footprint larger = pad;
    larger.held_mm2 *= between(1, 2), larger.edge_mm *= between(1, 2), larger.base_mm *= between(1, 2);
    PieceLoad heavier = load;
    heavier.lateral_N *= between(1, 2), heavier.moment_N_mm *= between(1, 2), heavier.lift_N += between(0, 2);
    const Safety here = tape_safety(tape, pad, load);
    EXPECT_LE(here.low, here.nominal);
    EXPECT_LE(here.nominal, here.high);
    EXPECT_GE(tape_safety(tape, larger, load).nominal, here.nominal);
    EXPECT_LE(tape_safety(tape, pad, heavier).nominal, here.nominal);
    const Banded clamp{10, 5, 20, "test", false};
    EXPECT_GE(vacuum_safety(clamp, larger, load).nominal, vacuum_safety(clamp, pad, load).nominal);
    EXPECT_LE(vacuum_safety(clamp, pad, heavier).nominal, vacuum_safety(clamp, pad, load).nominal);
  }
}
