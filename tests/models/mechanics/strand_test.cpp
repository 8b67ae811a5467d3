#include "models/mechanics/engagement.hpp"
#include "models/mechanics/strand.hpp"

#include <gtest/gtest.h>

using namespace snagmap;

TEST(Strand, OneFluteSlotPeelsTwentyFourTimesItsTravel) {
  // 6 mm cutter, one flute, 18000 rpm, 7000 mm/min, arithmetic by hand: fz 0.389, pi r/fz = 24.2; 103 mm of
  // slot give 2.5 m of strip.
  const double chip = chip_per_tooth_mm(7000, 18000, 1);
  const double strip = strip_per_travel(engaged_angle_rad(6, 6), 6, chip);
  EXPECT_NEAR(chip, 0.389, 5e-4);
  EXPECT_NEAR(strip, 24.2, 0.05);
  EXPECT_NEAR(strip * 103 / 1000, 2.5, 0.01);
  EXPECT_EQ(strip_per_travel(3, 6, 0), 0);
}

TEST(Strand, NeckRoomIsTheRingRoundIt) {
  EXPECT_NEAR(neck_room_mm3(6, 4, 30), 471, 0.5); // pi/4 (36 - 16) 30
  EXPECT_EQ(neck_room_mm3(6, 0, 30), 0);
  EXPECT_EQ(neck_room_mm3(6, 6, 30), 0);
}

TEST(Strand, ExitNeedsTwoTurnsOfTravelOrAVoxel) {
  EXPECT_NEAR(exit_gap_mm(7000, 18000, 0.5), 0.7778, 1e-4);
  EXPECT_EQ(exit_gap_mm(1000, 18000, 0.5), 0.5);
}

TEST(Strand, SlotsHalveTheLengthThatIsAccepted) {
  EXPECT_EQ(strand_risk(40, false), StrandRisk::low);
  EXPECT_EQ(strand_risk(40.1, false), StrandRisk::raised);
  EXPECT_EQ(strand_risk(150.1, false), StrandRisk::high);
  EXPECT_EQ(strand_risk(20, true), StrandRisk::low);
  EXPECT_EQ(strand_risk(75.1, true), StrandRisk::high);
}
