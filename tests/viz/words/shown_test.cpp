// Numbers as the user reads them. The inch is 25.4 mm exactly (NIST Special Publication 811, appendix B).
#include "viz/words/shown.hpp"

#include <gtest/gtest.h>

using namespace snagmap;

// 25.4 mm are 1 in, 645.16 mm2 1 in2, 16387.064 mm3 1 in3, 304.8 mm 1 ft.
TEST(Shown, LengthsAreasVolumesAndFeedsInInches) {
  const Shown inch{true};
  EXPECT_EQ(inch.length(25.4, 1), "1.000 in");
  EXPECT_EQ(inch.length(-12.7, 2), "-0.500 in");
  EXPECT_EQ(inch.length(0.00008), "3e-06 in"); // too small for three digits
  EXPECT_EQ(inch.length(0), "0.000 in");
  EXPECT_EQ(inch.area(645.16), "1 in2");
  EXPECT_EQ(inch.volume(163870.64, 2), "10 in3");
  EXPECT_EQ(inch.small_volume(16387.064), "1 in3");
  EXPECT_EQ(inch.metres(3048), "10 ft");
  EXPECT_EQ(inch.feed(2540), "100 in/min");
}

TEST(Shown, MillimetresHaveTheDigitsAskedFor) {
  const Shown mm{false};
  EXPECT_EQ(mm.length(25.4, 1), "25.4 mm");
  EXPECT_EQ(mm.length(25.4, 3), "25.400 mm");
  EXPECT_EQ(mm.short_length(25.4), "25.4 mm");
  EXPECT_EQ(mm.short_length(6), "6 mm");
  EXPECT_EQ(mm.rounded_length(12.7049), "12.7 mm");
  EXPECT_EQ(mm.area(645.16), "645 mm2");
  EXPECT_EQ(mm.volume(163870.64, 2), "163.87 cm3");
  EXPECT_EQ(mm.small_volume(100), "100 mm3");
  EXPECT_EQ(mm.metres(3048), "3.0 m");
}

TEST(Shown, AGuessIsCalledSoOnce) {
  Banded value{1, 0.5, 2, "a guess: a few cells", true};
  EXPECT_EQ(source_words(value), "a guess: a few cells");
  value.source = "common practice, no source";
  EXPECT_EQ(source_words(value), "common practice, no source (a guess)");
  value.guess = false;
  EXPECT_EQ(source_words(value), "common practice, no source");
}
