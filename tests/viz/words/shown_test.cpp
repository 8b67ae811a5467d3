// Numbers as the user reads them. The inch is 25.4 mm exactly (NIST Special Publication 811, appendix B).
#include "viz/words/shown.hpp"

#include <gtest/gtest.h>

using namespace snagmap;

TEST(Shown, WordsInMillimetresAreShownInInchesWithEveryNumberOfARange) {
  const Shown inch{true};
  EXPECT_EQ(in_units("25.4 mm deep at worst", inch), "1.000 in deep at worst");
  EXPECT_EQ(in_units("0.254 to 2.54 mm", inch), "0.010 to 0.100 in");
  EXPECT_EQ(in_units("a piece of 254.0 x 25.4 x 12.7 mm, 163.87 cm3", inch),
            "a piece of 10.000 x 1.000 x 0.500 in, 10 in3");
  EXPECT_EQ(in_units("only 645.16 mm2 of it", inch), "only 1 in2 of it");
  EXPECT_EQ(in_units("lies at z -12.70 mm.", inch), "lies at z -0.500 in.");
  EXPECT_EQ(in_units("fed at 2540 mm/min", inch), "fed at 100 in/min");
  EXPECT_EQ(in_units("5.08 -> 2.54 mm", inch), "0.200 -> 0.100 in");
  EXPECT_EQ(in_units("it is 3.048 m long", inch), "it is 10 ft long");
  EXPECT_EQ(in_units("differ by 0.000080 mm, 0 mm apart", inch), "differ by 3e-06 in, 0.000 in apart");
}

TEST(Shown, WhatIsNoLengthStaysAsItIs) {
  const Shown inch{true};
  for (const char* words : {"0.5 N/mm", "lines 3 to 12", "500 mm/s2", "no error in mm can be foretold", "-",
                            "24 kg/m3", "18 m/s", "3 moves", ""})
    EXPECT_EQ(in_units(words, inch), words);
  EXPECT_EQ(in_units("12.5 mm", Shown{false}), "12.5 mm");
}

TEST(Shown, AGuessIsCalledSoOnce) {
  Banded value{1, 0.5, 2, "a guess: a few cells", true};
  EXPECT_EQ(source_words(value), "a guess: a few cells");
  value.source = "common practice, no source";
  EXPECT_EQ(source_words(value), "common practice, no source (a guess)");
  value.guess = false;
  EXPECT_EQ(source_words(value), "common practice, no source");
}
