#include "models/fault.hpp"

#include <gtest/gtest.h>

using snagmap::Fault;

TEST(Fault, TextShowsPlaceExcerptCaretAndWayOut) {
  const Fault fault{"a.nc", 3, 4, "letter twice: X", "write X once", "G1 X1 X2"};
  EXPECT_EQ(snagmap::to_text(fault), "a.nc:3:4: letter twice: X\n  G1 X1 X2\n     ^\n  write X once");
}

TEST(Fault, TextOmitsWhatIsNotKnown) {
  EXPECT_EQ(snagmap::to_text({"", 0, 0, "no scene given", "", ""}), "no scene given");
}
