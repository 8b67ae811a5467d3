#include "models/cards/bench.hpp"

#include <gtest/gtest.h>

#include <cmath>

using namespace snagmap;

namespace {
/// A strip without weight whose tip load makes P L^2/EI the given number, E 100 kPa.
Strip loaded(double number) {
  Strip strip{5, 25, 100, 0, 0};
  strip.tip_mass_g = number * 0.1 * 25 * 125 / 12 / (100 * 100) / 9.80665 * 1000;
  return strip;
}
} // namespace

TEST(Bench, TipLoadFollowsTheElasticaOfBisshoppAndDrucker) {
  // Bisshopp and Drucker 1945, Quart. Appl. Math. 3, 272: tip drop over length.
  const struct {
    double load, drop;
  } rows[] = {{1, 0.30172}, {2, 0.49346}, {5, 0.71379}, {10, 0.81061}, {0.1, 0.03330}};
  for (const auto& row : rows) {
    EXPECT_NEAR(sag_mm(loaded(row.load), 100) / 100, row.drop, 1e-5) << row.load;
  }
}

TEST(Bench, SmallSagUnderOwnWeightIsTheHandbookBeam) {
  // q L^4/(8 EI): E 50 kPa, section 100 x 10 mm, L 40 mm, q 1 N/m gives 0.7680 mm.
  Strip strip{10, 100, 40, 0, 0};
  strip.density_kg_m3 = 1e-3 / (1e-9 * 100 * 10 * 9.80665);
  EXPECT_NEAR(sag_mm(strip, 50), 0.7680, 0.7680 * 2e-3);
  strip.density_kg_m3 = 0, strip.tip_mass_g = 0.05 / 9.80665 * 1000; // F L^3/(3 EI), F 0.05 N
  EXPECT_NEAR(sag_mm(strip, 50), 2.5600, 2.5600 * 5e-3);
}

TEST(Bench, ModulusComesBackFromItsOwnSag) {
  for (const double E : {25.0, 50.0, 400.0}) {
    const Strip strip{10, 40, 150, 22, 2};
    const auto back = modulus_from_sag_kPa(strip, sag_mm(strip, E));
    ASSERT_TRUE(back);
    EXPECT_NEAR(*back, E, 1e-6 * E);
  }
}

TEST(Bench, SagMoreThanTheOverhangIsRefused) {
  const auto none = modulus_from_sag_kPa({10, 40, 150, 22, 0}, 151);
  ASSERT_FALSE(none);
  EXPECT_EQ(
      none.faults()[0].what,
      "a sag of 151 mm tells no modulus: with 150 mm of overhang it must lie between 0.00094 and 136 mm");
  EXPECT_FALSE(modulus_from_sag_kPa({10, 40, 150, 22, 0}, std::nan("")));
  EXPECT_FALSE(modulus_from_sag_kPa({10, 40, 150, 0, 0}, 10));
}

TEST(Bench, TearEnergyOfAPeakFollowsTheCard) {
  const Banded energy = energy_from_peak_tear(0.35 * 25, 25); // 350 N/m, soft polyurethane
  EXPECT_NEAR(energy.nominal, 0.60, 0.006);
}
