#include "models/base/fault.hpp"

#include <gtest/gtest.h>

#include <stdexcept>

using snagmap::Fault;

TEST(Fault, TextShowsPlaceExcerptCaretAndWayOut) {
  const Fault fault("letter twice: X", "write X once", "a.nc", 3, 4, "G1 X1 X2");
  EXPECT_EQ(snagmap::to_text(fault), "a.nc:3:4: letter twice: X\n  G1 X1 X2\n     ^\n  write X once");
}

TEST(Fault, TextOmitsWhatIsNotKnown) {
  EXPECT_EQ(snagmap::to_text(Fault("no scene given", "")), "no scene given");
}

TEST(Outcome, AValueThatIsNotThereIsNotTakenSilently) {
  const snagmap::Outcome<int> none(Fault("too thick", "make it thinner"));
  try {
    FAIL() << *none;
  } catch (const std::logic_error& error) {
    EXPECT_NE(std::string(error.what()).find("too thick"), std::string::npos);
  }
  EXPECT_EQ(none.faults().size(), 1u);
  EXPECT_TRUE(snagmap::Outcome<int>(1).faults().empty());
}
