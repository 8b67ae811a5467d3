#include "models/cards/cutter.hpp"
#include "models/cards/foam.hpp"
#include "models/cards/machine.hpp"
#include "tests/find_cutter.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <set>

using namespace snagmap;

namespace {
const Banded FoamCard::*const kFields[] = {
    &FoamCard::E_kPa,          &FoamCard::nu,         &FoamCard::Gc_N_mm, &FoamCard::tensile_kPa,
    &FoamCard::bite_depth_mm,  &FoamCard::lambda,     &FoamCard::cell_mm, &FoamCard::cut_force_N_mm,
    &FoamCard::severing_MJ_m3, &FoamCard::loss_factor};
} // namespace

TEST(Foam, EveryValueStandsInItsRangeAndNamesItsSource) {
  std::set<std::string> names;
  for (const FoamCard& card : foam_cards()) {
    EXPECT_TRUE(names.insert(card.name).second) << card.name;
    for (auto field : kFields) {
      const Banded& b = card.*field;
      EXPECT_LE(b.low, b.nominal) << card.name << ": " << b.source;
      EXPECT_LE(b.nominal, b.high) << card.name << ": " << b.source;
      EXPECT_FALSE(b.source.empty()) << card.name;
    }
    EXPECT_EQ(find_foam(card.name)->title, card.title);
  }
  EXPECT_FALSE(find_foam("pu-23"));
}

TEST(Foam, FirmerFoamOfAKindHasLessLambda) {
  EXPECT_LT(find_foam("pu-32")->lambda.nominal, find_foam("pu-22")->lambda.nominal);
  EXPECT_LT(find_foam("pe-32")->lambda.nominal, find_foam("pe-24")->lambda.nominal);
  EXPECT_LT(find_foam("eva-96")->lambda.nominal, find_foam("eva-32")->lambda.nominal);
}

TEST(Foam, BandsOfOtherFoamsAreWiderThanThatOfTheFoamThePracticeIsAbout) {
  const Banded soft = find_foam("pu-22")->lambda;
  for (const FoamCard& card : foam_cards()) {
    if (card.name == "pu-22")
      continue;
    EXPECT_GT(card.lambda.high / card.lambda.low, soft.high / soft.low) << card.name;
  }
}

TEST(Foam, OpenCellModuliFollowGibsonAndAshby) {
  // Cellular Solids (1997) ch. 5: E = Es R^2, R the relative density; solid 1200 kg/m3, Es 150 MPa fitted to
  // static use (the book's 45 MPa is known to be three to four times soft for these foams).
  for (const char* name : {"pu-22", "pu-32"}) {
    const FoamCard foam = *find_foam(name);
    const double R = foam.density_kg_m3 / 1200;
    EXPECT_NEAR(foam.E_kPa.nominal, 150000 * R * R, 0.08 * foam.E_kPa.nominal) << name;
  }
}

TEST(Foam, ClosedCellModuliLieBetweenTheEdgeAndFaceLimitsOfGibsonAndAshby) {
  // E = Es (phi^2 R^2 + (1 - phi) R) + p0 (1 - 2 nu)/(1 - R); polyethylene 920 kg/m3, Es 200 MPa; measured
  // foams need phi of 0.95 to 1 because thin faces are crumpled.
  const auto modulus = [](double R, double phi, double nu) {
    return 200000 * (phi * phi * R * R + (1 - phi) * R) + 101.325 * (1 - 2 * nu) / (1 - R);
  };
  EXPECT_NEAR(modulus(0.035, 0.8, 1.0 / 3), 1591.8, 0.1); // the book's worked sum: 156.8 + 1400 + 35.0
  for (const char* name : {"pe-24", "pe-32"}) {
    const FoamCard foam = *find_foam(name);
    const double R = foam.density_kg_m3 / 920;
    EXPECT_GT(foam.E_kPa.nominal, modulus(R, 1, 0.33)) << name;
    EXPECT_LT(foam.E_kPa.nominal, modulus(R, 0.95, 0.33)) << name;
  }
}

TEST(Foam, InterpolationMeetsTheCardsAndIsWiderBetweenThem) {
  const FoamCard soft = *find_foam("pu-22"), firm = *find_foam("pu-32");
  EXPECT_EQ(interpolated_foam(FoamKind::polyurethane, 22)->name, "pu-22");
  const auto between = interpolated_foam(FoamKind::polyurethane, 27);
  ASSERT_TRUE(between);
  EXPECT_LT(between->lambda.nominal, soft.lambda.nominal);
  EXPECT_GT(between->lambda.nominal, firm.lambda.nominal);
  EXPECT_GT(between->lambda.high / between->lambda.low, soft.lambda.high / soft.lambda.low);
  EXPECT_GT(between->E_kPa.nominal, soft.E_kPa.nominal);
  EXPECT_LT(between->E_kPa.nominal, firm.E_kPa.nominal);
  double before = HUGE_VAL;
  for (double density = 15; density < 48; density += 0.5) { // E rises, Lambda falls all the way
    const auto card = interpolated_foam(FoamKind::polyurethane, density);
    ASSERT_TRUE(card) << density;
    EXPECT_LT(card->lambda.nominal, before) << density;
    before = card->lambda.nominal;
  }
}

TEST(Foam, DensityFarFromTheCardsIsRefused) {
  const auto none = interpolated_foam(FoamKind::polyurethane, 200);
  ASSERT_FALSE(none);
  EXPECT_EQ(none.faults()[0].what,
            "no polyurethane card near 200 kg/m3; the catalogue reaches from 15 to 48 kg/m3");
  EXPECT_FALSE(interpolated_foam(FoamKind::eva, std::nan("")));
}

TEST(Foam, OwnModulusScalesLambdaInversely) {
  const FoamCard soft = *find_foam("pu-22");
  const FoamCard own = with_own_values(soft, Banded{100, 90, 110, "the scene", false}, {});
  EXPECT_DOUBLE_EQ(own.lambda.nominal, soft.lambda.nominal / 2);
  EXPECT_DOUBLE_EQ(own.lambda.high, soft.lambda.high / 2);
  EXPECT_EQ(own.E_kPa.source, "the scene");
}

TEST(Cutter, ProfilesAreUnbrokenFromTheTipUp) {
  for (const CutterCard& card : cutter_cards()) {
    const auto pieces = card.profile();
    ASSERT_FALSE(pieces.empty()) << card.name;
    EXPECT_EQ(pieces.front().z0_mm, 0);
    for (std::size_t i = 0; i < pieces.size(); ++i) {
      const ProfilePiece& p = pieces[i];
      EXPECT_LT(p.z0_mm, p.z1_mm) << card.name;
      if (i > 0) {
        EXPECT_EQ(p.z0_mm, pieces[i - 1].z1_mm) << card.name;
        EXPECT_GE(static_cast<int>(p.zone), static_cast<int>(pieces[i - 1].zone)) << card.name;
      }
      EXPECT_TRUE(p.zone != Zone::flutes || p.r1_mm <= card.diameter_mm / 2 + 1e-12) << card.name;
      if (p.arc) { // both ends lie on the circle
        const double at0 = std::hypot(p.r0_mm - p.centre_r_mm, p.z0_mm - p.centre_z_mm);
        const double at1 = std::hypot(p.r1_mm - p.centre_r_mm, p.z1_mm - p.centre_z_mm);
        EXPECT_NEAR(at0, at1, 1e-12) << card.name;
      }
    }
    EXPECT_DOUBLE_EQ(pieces.back().z1_mm, card.stick_out_mm + card.nut_length_mm + card.holder_length_mm)
        << card.name;
  }
}

TEST(Cutter, StubCutterHasFlutesThenReliefThenShank) {
  const auto pieces = snagmap::testing::find_cutter("flat-6.35-stub")->profile();
  ASSERT_EQ(pieces.size(), 5u);
  EXPECT_EQ(pieces[0].zone, Zone::flutes);
  EXPECT_DOUBLE_EQ(pieces[0].z1_mm, 6.35);
  EXPECT_EQ(pieces[1].zone, Zone::neck);
  EXPECT_DOUBLE_EQ(pieces[1].r0_mm, 2.25);
  EXPECT_EQ(pieces[2].zone, Zone::shank);
  EXPECT_EQ(pieces[3].zone, Zone::nut);
  EXPECT_EQ(pieces[4].zone, Zone::holder);
}

TEST(Cutter, DrillPointHeightIsTheHandbookValue) {
  // Machinery's Handbook: the point of a 118 degree drill is 0.3 of its diameter high.
  const auto pieces = snagmap::testing::find_cutter("drill-6")->profile();
  EXPECT_NEAR(pieces[0].z1_mm, 0.3 * 6, 0.005);
}

TEST(Cutter, OwnProfileReplacesTheTipShape) {
  CutterCard card = *snagmap::testing::find_cutter("ball-6");
  card.own_profile = {{1, 0, 2, 3, false, 0, 0, Zone::flutes}};
  ASSERT_EQ(card.profile().size(), 1u);
  EXPECT_EQ(card.profile()[0].r1_mm, 2);
}

TEST(Machine, CardsHaveLimitsOnEveryAxis) {
  for (const MachineCard& card : machine_cards()) {
    for (int axis = 0; axis < 3; ++axis) {
      EXPECT_GT(card.feed_mm_min[axis], 0) << card.name;
      EXPECT_GE(card.rapid_mm_min[axis], card.feed_mm_min[axis]) << card.name;
      EXPECT_GT(card.acceleration_mm_s2[axis], 0) << card.name;
    }
    EXPECT_LT(card.spindle_min_rpm, card.spindle_max_rpm) << card.name;
  }
}
