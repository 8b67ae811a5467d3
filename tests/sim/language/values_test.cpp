// Values and lines: numbers, expressions, parameters, skipped lines, the ends of a file.
// Rules from NIST RS274/NGC version 3 (NISTIR 6556) and ISO 6983-1, from memory.
#include "tests/sim/program_read.hpp"

#include <gtest/gtest.h>

#include <cmath>

using namespace snagmap;

struct Expression {
  const char* text;
  double value;
};
class ExpressionValue : public ::testing::TestWithParam<Expression> {};
TEST_P(ExpressionValue, IsThatByHand) {
  EXPECT_NEAR(last(std::string("G0 X") + GetParam().text).x, GetParam().value, 1e-9) << GetParam().text;
}
INSTANTIATE_TEST_SUITE_P(
    ByHand, ExpressionValue,
    ::testing::Values(Expression{"[1+2*3]", 7}, Expression{"[2**3**2]", 64}, Expression{"[-5 MOD 3]", 1},
                      Expression{"FIX[-2.8]", -3}, Expression{"FUP[-2.8]", -2},
                      Expression{"ATAN[1]/[-1]", 135}, Expression{"[1+ACOS[0]-[2**[4.0/2]]]", 87},
                      Expression{"[10-4-3]", 3}, Expression{"[16/4/2]", 2}, Expression{"[2*3**2]", 18},
                      Expression{"[7 MOD 4*2]", 6}, Expression{"[1 AND 0 OR 1]", 1},
                      Expression{"[1 XOR 1]", 0}, Expression{"[3 XOR 0]", 1}, Expression{"ABS[-2.5]", 2.5},
                      Expression{"ASIN[0.5]", 30}, Expression{"COS[60]", 0.5}, Expression{"SIN[30]", 0.5},
                      Expression{"TAN[45]", 1}, Expression{"EXP[1]", 2.718281828459045},
                      Expression{"LN[10]", 2.302585092994046}, Expression{"ROUND[2.5]", 3},
                      Expression{"ROUND[-2.5]", -3}, Expression{"SQRT[2]", 1.4142135623730951},
                      Expression{"[s q r t [ 1 6 ] ]", 4}, Expression{"[[1+2]*[3+4]]", 21},
                      Expression{"[2*-3]", -6}));

TEST(Numbers, BlanksCountForNothingAndLettersHaveAnyCase) {
  expect_at(last("g0x +0. 12 34y 7"), 0.1234, 7, 0);
  expect_at(last("G 0 1 \t X 1 0 Z-\t.5 f 1 0 0"), 10, 0, -0.5);
  expect_at(last("G0 X5. Y.25 Z+00012.500"), 5, 0.25, 12.5);
}

TEST(Numbers, AreThoseTheCLibraryReads) {
  for (const char* text : {"0.1", "123.456", "99999.9999", "0.00000000012345",
                           "1234567890123456789012345678901234e", "3.14159265358979323846264338327950288"}) {
    std::string number = text;
    if (number.back() == 'e')
      continue; // whole part beyond 1 km is refused elsewhere
    const double c = std::strtod(text, nullptr);
    EXPECT_NEAR(last("G0 X" + number).x, c, 2e-16 * std::abs(c)) << text;
  }
}

TEST(Parameters, SettingsTakeEffectAfterTheWholeLine) {
  EXPECT_EQ(last("#3=15\n#3=6 G0 X#3").x, 15);
  EXPECT_EQ(last("#3=15\n#3=6 G0 X#3\nX#3").x, 6);
  EXPECT_EQ(last("#1=2 #2=7\nG0 X##1").x, 7);
  EXPECT_EQ(last("#1=5\n#[#1+1]=9\nG0 X#6").x, 9);
}

TEST(BlockDelete, SkipsOnlyWhenTheSwitchIsOn) {
  ProgramOptions options = at_origin();
  EXPECT_EQ(last("G0 X1\n/ X2", options).x, 2);
  options.block_delete = true;
  EXPECT_EQ(last("G0 X1\n/ X2 &&&", options).x, 1);
  EXPECT_TRUE(notes(read("/ M0", options), RemarkKind::skipped_lines));
}

TEST(Percent, SecondSignEndsTheFileAndTheRestIsIgnored) {
  const auto path = parse_program("\n %\nG0 X1\n%\n&&& not read\n", "t.nc", at_origin());
  ASSERT_TRUE(path) << told(path);
  EXPECT_EQ(path->moves.back().to.x, 1);
}

TEST(Percent, TextAfterTheEndIsNotReadAndNoted) {
  const auto path = parse_program("G0 X1\nM30\nG0 X2 &&&\n", "t.nc", at_origin());
  ASSERT_TRUE(path);
  EXPECT_EQ(path->moves.size(), 1u);
  EXPECT_TRUE(notes(*path, RemarkKind::text_after_end));
}
