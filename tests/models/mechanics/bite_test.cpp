#include "models/mechanics/bite.hpp"
#include "tests/find_cutter.hpp"

#include <gtest/gtest.h>

#include <cmath>

using namespace snagmap;

namespace {
constexpr double kDeg = 3.14159265358979323846 / 180;

CutterCard straight_cutter() {
  CutterCard cutter = *snagmap::testing::find_cutter("flat-6-long");
  cutter.helix_deg = 0;
  return cutter;
}
} // namespace

TEST(Bite, SlicePushMatchesThePublishedRatios) {
  // Atkins, Xu and Jeronimidis 2004.
  const struct {
    double xi, across, along;
  } rows[] = {{0, 1, 0}, {std::tan(30 * kDeg), 0.75, 0.433}, {1, 0.5, 0.5}, {2, 0.2, 0.4}};
  for (const auto& row : rows) {
    EXPECT_NEAR(slice_push(row.xi).across, row.across, 1e-3);
    EXPECT_NEAR(slice_push(row.xi).along, row.along, 1e-3);
  }
}

TEST(Bite, EdgeForceFollowsTheChipThenSaturates) {
  // Severing work x chip: 0.55 MJ/m3 x 0.08 mm = 0.044 N/mm for soft polyurethane; a thick chip tears at 0.20
  // N/mm.
  const CutterCard cutter = straight_cutter();
  const struct {
    const char* foam;
    double thin, thick;
  } rows[] = {{"pu-22", 0.044, 0.11}, {"pu-32", 0.064, 0.16}, {"pe-24", 0.083, 0.21}, {"pe-32", 0.115, 0.29}};
  for (const auto& row : rows) {
    const FoamCard foam = *find_foam(row.foam);
    EXPECT_NEAR(cut_force({0.08, 1, 5}, cutter, foam).edge_N_mm, row.thin, 1e-3) << row.foam;
    EXPECT_NEAR(cut_force({0.20, 1, 5}, cutter, foam).edge_N_mm, row.thick, 6e-3) << row.foam;
    EXPECT_DOUBLE_EQ(cut_force({5, 1, 5}, cutter, foam).edge_N_mm, foam.cut_force_N_mm.nominal) << row.foam;
  }
}

TEST(Bite, UpCutLiftsAndDownCutPresses) {
  // xi/(1 + xi^2) of the straight push: 0.433 at 30 degrees.
  const FoamCard foam = *find_foam("pe-32");
  CutterCard cutter = straight_cutter();
  const double push = cut_force({0.1, 1, 5}, cutter, foam).tangential_N;
  EXPECT_EQ(cut_force({0.1, 1, 5}, cutter, foam).lift_N, 0);
  cutter.helix_deg = 30;
  EXPECT_NEAR(cut_force({0.1, 1, 5}, cutter, foam).lift_N / push, 0.433, 1e-3);
  cutter.helix_deg = -30;
  EXPECT_NEAR(cut_force({0.1, 1, 5}, cutter, foam).lift_N / push, -0.433, 1e-3);
}

TEST(Bite, MeanForceIsTheShareOfATurnInTheCut) {
  // Full slot, two flutes: one edge in the cut on average.
  const CutForce force = cut_force({0.1, 180 * kDeg, 5}, straight_cutter(), *find_foam("pe-32"));
  EXPECT_NEAR(force.tangential_N, force.edge_N_mm * 5, 1e-12);
}

TEST(Bite, BandKeepsItsOrder) {
  const FoamCard foam = *find_foam("pe-24");
  const Cut cut{0.3, 1, 5};
  const double low = cut_force(cut, straight_cutter(), foam, BandEnd::low).edge_N_mm;
  const double high = cut_force(cut, straight_cutter(), foam, BandEnd::high).edge_N_mm;
  EXPECT_LT(low, cut_force(cut, straight_cutter(), foam).edge_N_mm);
  EXPECT_GT(high, cut_force(cut, straight_cutter(), foam).edge_N_mm);
}
