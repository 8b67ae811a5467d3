// Unit factors are checked against NIST Special Publication 811 (2008), appendix B.8.
#include "models/base/quantity.hpp"

#include <gtest/gtest.h>

#include <clocale>

using namespace snagmap;
using D = Dimension;

namespace {
double value(const char* text, D dimension) {
  const auto parsed = parse_quantity(text, dimension);
  EXPECT_TRUE(parsed) << text << ": " << (parsed ? "" : parsed.faults()[0].what);
  return parsed ? *parsed : 0;
}
std::string fault(std::string_view text, D dimension) {
  const auto parsed = parse_quantity(text, dimension);
  return parsed ? "accepted" : parsed.faults()[0].what;
}
} // namespace

TEST(Quantity, MetricUnitsComeOutInTheBaseUnit) {
  EXPECT_DOUBLE_EQ(value("12 mm", D::length), 12);
  EXPECT_DOUBLE_EQ(value("12mm", D::length), 12);
  EXPECT_DOUBLE_EQ(value(" -1.5e1 cm ", D::length), -150);
  EXPECT_DOUBLE_EQ(value("+2 m/min", D::speed), 2000);
  EXPECT_DOUBLE_EQ(value("500 mm/s2", D::acceleration), 500);
  EXPECT_DOUBLE_EQ(value("0.5 m/s^2", D::acceleration), 500);
  EXPECT_DOUBLE_EQ(value("0.5 m/s\xC2\xB2", D::acceleration), 500);
  EXPECT_DOUBLE_EQ(value("0.4 MPa", D::pressure), 400);
  EXPECT_DOUBLE_EQ(value("25 N/25 mm", D::line_force), 1);
  EXPECT_DOUBLE_EQ(value("350 N/m", D::line_force), 0.35);
  EXPECT_DOUBLE_EQ(value("18000 rpm", D::rotation), 18000);
  EXPECT_DOUBLE_EQ(value("25 deg", D::angle), 25);
  EXPECT_DOUBLE_EQ(value("3 min", D::time), 180);
  EXPECT_DOUBLE_EQ(value("60 %", D::share), 0.6);
}

TEST(Quantity, InchPoundUnitsMatchNistSp811) {
  const double digits = 5e-7; // the appendix prints seven significant digits
  EXPECT_DOUBLE_EQ(value("0.5 in", D::length), 12.7);
  EXPECT_DOUBLE_EQ(value("120 in/min", D::speed), 3048);
  EXPECT_NEAR(value("1 psi", D::pressure) / 6.894757, 1, digits);
  EXPECT_NEAR(value("1 lb/ft3", D::density) / 16.01846, 1, digits);
  EXPECT_NEAR(value("1 lbf/in", D::line_force) / 0.1751268, 1, digits);
  EXPECT_NEAR(value("1 lbf", D::force) / 4.448222, 1, digits);
  EXPECT_NEAR(value("1 oz", D::mass) / 28.34952, 1, digits);
}

TEST(Quantity, BareNumbersAreRefused) {
  EXPECT_EQ(fault("12", D::length), "\"12\" has no unit");
  EXPECT_EQ(fault("0.25", D::share), "\"0.25\" has no unit");
  EXPECT_EQ(fault("0.25 1", D::share), "\"0.25 1\": unknown unit \"1\"; the nearest for a share is \"%\"");
  EXPECT_EQ(fault("", D::length), "empty text where a length belongs");
  EXPECT_EQ(fault("mm", D::length), "\"mm\" does not begin with a number");
}

TEST(Quantity, NumbersThatAreNotFiniteAreRefused) {
  for (const char* text : {"nan mm", "inf mm", "-inf mm", "1e999 mm", "1e308 m"})
    EXPECT_EQ(fault(text, D::length),
              std::string("\"") + text + "\" is not a finite number the program can hold");
}

TEST(Quantity, OtherDimensionsAreNamed) {
  EXPECT_EQ(fault("30 kPa", D::length), "\"30 kPa\" is a pressure or modulus; expected a length");
  EXPECT_EQ(fault("3000 mm", D::speed), "\"3000 mm\" is a length; expected a speed");
}

TEST(Quantity, UnknownUnitsNameTheNearest) {
  EXPECT_EQ(fault("12 mmm", D::length),
            "\"12 mmm\": unknown unit \"mmm\"; the nearest for a length is \"mm\"");
  EXPECT_EQ(fault("5 pis", D::pressure),
            "\"5 pis\": unknown unit \"pis\"; the nearest for a pressure or modulus is \"psi\"");
  EXPECT_EQ(fault("12,5 mm", D::length), "\"12,5 mm\": write a decimal point, not a comma");
}

TEST(Quantity, HostileTextIsBoundedAndPrintable) {
  const std::string what = fault("1 " + std::string(1000000, 'x'), D::length);
  EXPECT_LT(what.size(), 200u);
  EXPECT_EQ(fault(std::string_view("1 m\0m", 5), D::length).find('\0'), std::string::npos);
}

TEST(Quantity, LocaleDoesNotChangeTheReading) {
  const char* set = std::setlocale(LC_NUMERIC, "de_DE.UTF-8"); // where installed; the reader must not care
  EXPECT_DOUBLE_EQ(value("1.5 mm", D::length), 1.5);
  EXPECT_EQ(show(1.5, D::length, false), "1.50 mm");
  if (set)
    std::setlocale(LC_NUMERIC, "C");
}

TEST(Quantity, ShowsMillimetresOrInches) {
  EXPECT_EQ(show(12.5, D::length, false), "12.50 mm");
  EXPECT_EQ(show(12.7, D::length, true), "0.500 in");
  EXPECT_EQ(show(3048, D::speed, true), "120.0 in/min");
  EXPECT_EQ(show(-0.001, D::length, false), "0.00 mm");
  EXPECT_EQ(show(0.25, D::share, true), "25.0 %");
}

TEST(Quantity, EveryBaseUnitReadsBackItsOwnNumber) {
  for (int i = 0; i < static_cast<int>(D::share); ++i) {
    const auto dimension = static_cast<D>(i);
    EXPECT_EQ(value((std::string("3 ") + base_unit(dimension)).c_str(), dimension), 3) << to_text(dimension);
  }
}

TEST(Quantity, EditDistanceCountsASwapOnceAndIgnoresCase) {
  EXPECT_EQ(edit_distance("cutter", "Cutter"), 0);
  EXPECT_EQ(edit_distance("cutetr", "cutter"), 1);
  EXPECT_EQ(edit_distance("kitten", "sitting"), 3); // the textbook pair of Levenshtein's distance
  EXPECT_EQ(edit_distance("", "foam"), 4);
}
