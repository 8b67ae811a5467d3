#include "sim/language/expression.hpp"

#include "models/base/constants.hpp"

#include <fmt/format.h>

#include <cmath>
#include <cstdint>
#include <utility>

namespace snagmap {
namespace {

constexpr double kPowers[] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,  1e9,  1e10, 1e11,
                              1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
constexpr int kLastPower = 22;
constexpr std::uint64_t kMostDigits = 100'000'000'000'000'000; // 10^17: one more digit still fits 64 bits

bool is_digit(char c) {
  return static_cast<unsigned char>(c - '0') < 10;
}

[[noreturn]] void bad_number(int column, char letter) {
  if (letter == '=' || letter == '[' || letter == '#')
    throw Refusal{column, fmt::format("no value after '{}'", letter),
                  "write a number, #parameter, [expression] or function"};
  throw Refusal{column, fmt::format("{} without a number", letter),
                fmt::format("write a number, #parameter, [expression] or function after {}", letter)};
}

/// Blanks inside a number count for nothing, as the standard has it.
double number(Cursor& cursor, char letter) {
  const int column = cursor.column();
  const char* p = cursor.at;
  const bool negative = *p == '-';
  if (*p == '-' || *p == '+')
    ++p;
  std::uint64_t digits = 0;
  int scale = 0; // decimals read, less whole digits dropped
  bool point = false, any = false;
  for (;; ++p) {
    const char c = *p;
    if (is_digit(c)) {
      any = true;
      if (digits < kMostDigits) {
        digits = digits * 10 + static_cast<unsigned>(c - '0');
        scale += point;
      } else
        scale -= !point;
    } else if (c == '.') {
      if (point)
        throw Refusal{static_cast<int>(p - cursor.begin) + 1, "second decimal point in one number",
                      "write one point at most"};
      point = true;
    } else if (c != ' ' && c != '\t')
      break;
  }
  if (p > cursor.end)
    p = cursor.end;
  if (!any)
    bad_number(column, letter);
  cursor.at = p;
  auto value = static_cast<double>(digits);
  // A quotient of two exact doubles is correctly rounded: whole up to 2^53, powers of ten up to 10^22.
  if (scale > kLastPower || scale < -kLastPower)
    value *= std::pow(10.0, -scale);
  else
    value = scale >= 0 ? value / kPowers[scale] : value * kPowers[-scale];
  return negative ? -value : value;
}

double checked(double value, int column, const char* what) {
  if (!std::isfinite(value))
    throw Refusal{column, fmt::format("{} has no finite result", what), "check the values that go into it"};
  return value;
}

// In falling order of precedence (LinuxCNC, G-code overview, Binary Operators). NIST's report puts AND, OR
// and XOR beside + and -, and has no comparisons.
enum class Operator {
  power,
  times,
  divide,
  modulo,
  plus,
  minus,
  eq,
  ne,
  gt,
  ge,
  lt,
  le,
  or_,
  xor_,
  and_,
  close
};
int level_of(Operator op) {
  if (op == Operator::power)
    return 5;
  if (op <= Operator::modulo)
    return 4;
  if (op <= Operator::minus)
    return 3;
  if (op <= Operator::le)
    return 2;
  return op == Operator::close ? 0 : 1;
}
constexpr double kEqual = 1e-4; // nearer numbers are EQ (LinuxCNC, interp_internal.hh, TOLERANCE_EQUAL)

/// Takes `word` (capitals) if it stands next, in any case and with blanks anywhere.
bool take(Cursor& cursor, const char* word) {
  const char* from = cursor.at;
  for (const char* w = word; *w; ++w) {
    if ((cursor.peek() & ~0x20) != *w) {
      cursor.at = from;
      return false;
    }
    ++cursor.at;
  }
  return true;
}

Operator read_operator(Cursor& cursor) {
  const char c = cursor.peek();
  const int column = cursor.column();
  switch (c) {
  case ']':
    ++cursor.at;
    return Operator::close;
  case '+':
    ++cursor.at;
    return Operator::plus;
  case '-':
    ++cursor.at;
    return Operator::minus;
  case '/':
    ++cursor.at;
    return Operator::divide;
  case '*':
    ++cursor.at;
    if (cursor.peek() != '*')
      return Operator::times;
    ++cursor.at;
    return Operator::power;
  default:
    break;
  }
  static constexpr std::pair<const char*, Operator> kWords[] = {
      {"MOD", Operator::modulo}, {"OR", Operator::or_}, {"XOR", Operator::xor_}, {"AND", Operator::and_},
      {"EQ", Operator::eq},      {"NE", Operator::ne},  {"GT", Operator::gt},    {"GE", Operator::ge},
      {"LT", Operator::lt},      {"LE", Operator::le}};
  for (const auto& [word, op] : kWords)
    if (take(cursor, word))
      return op;
  if (c == 0)
    throw Refusal{column, "expression is not closed", "write ']' at its end"};
  throw Refusal{column, "no operator between two values of an expression",
                "write one of + - * / ** MOD AND OR XOR EQ NE GT GE LT LE, or ']'"};
}

double apply(Operator op, double a, double b, int column) {
  switch (op) {
  case Operator::power:
    if (a < 0 && b != std::floor(b))
      throw Refusal{column, fmt::format("{:.10g}**{:.10g}: a negative number to a broken power", a, b),
                    "use a whole power, or a positive base"};
    return checked(std::pow(a, b), column, "**");
  case Operator::times:
    return checked(a * b, column, "*");
  case Operator::divide:
    if (b == 0)
      throw Refusal{column, "division by zero", "check the divisor"};
    return checked(a / b, column, "/");
  case Operator::modulo: {
    if (b == 0)
      throw Refusal{column, "MOD by zero", "check the divisor"};
    const double rest = std::fmod(a, b);
    return rest < 0 ? rest + std::abs(b) : rest; // never negative
  }
  case Operator::plus:
    return checked(a + b, column, "+");
  case Operator::minus:
    return checked(a - b, column, "-");
  case Operator::eq:
    return std::abs(a - b) < kEqual;
  case Operator::ne:
    return !(std::abs(a - b) < kEqual);
  case Operator::gt:
    return a > b;
  case Operator::ge:
    return a >= b;
  case Operator::lt:
    return a < b;
  case Operator::le:
    return a <= b;
  case Operator::or_:
    return a != 0 || b != 0;
  case Operator::xor_:
    return (a != 0) != (b != 0);
  case Operator::and_:
    return a != 0 && b != 0;
  case Operator::close:
    break;
  }
  return a;
}

/// After '[': values and operators up to its ']', equal levels from left to right. The stack holds strictly
/// rising levels, so five entries are enough.
double expression(Cursor& cursor) {
  struct Pending {
    double value;
    Operator op;
    int column;
  };
  Pending stack[6];
  int depth = 0;
  for (;;) {
    double value = read_value(cursor, '[');
    cursor.peek();
    const int column = cursor.column();
    const Operator op = read_operator(cursor);
    while (depth > 0 && level_of(stack[depth - 1].op) >= level_of(op)) {
      --depth;
      value = apply(stack[depth].op, stack[depth].value, value, stack[depth].column);
    }
    if (op == Operator::close)
      return value;
    stack[depth++] = {value, op, column};
  }
}

double bracketed(Cursor& cursor, const char* name, int column) {
  if (cursor.peek() != '[')
    throw Refusal{column, fmt::format("{} without its bracket", name), fmt::format("write {}[value]", name)};
  ++cursor.at;
  return expression(cursor);
}

/// EXISTS[#<name>]: 1 when the named parameter has been set.
double exists(Cursor& cursor, int column) {
  const auto wrong = [&] { return Refusal{column, "EXISTS without [#<name>]", "write EXISTS[#<name>]"}; };
  for (const char wanted : {'[', '#'}) {
    if (cursor.peek() != wanted)
      throw wrong();
    ++cursor.at;
  }
  if (cursor.peek() != '<')
    throw wrong();
  const std::string name = read_name(cursor, column);
  if (cursor.peek() != ']')
    throw wrong();
  ++cursor.at;
  return cursor.parameters.named(name).has_value();
}

double function(Cursor& cursor, char letter) {
  const int column = cursor.column();
  if (take(cursor, "EXISTS"))
    return exists(cursor, column);
  static constexpr const char* kNames[] = {"ABS", "ACOS", "ASIN",  "ATAN", "COS",  "EXP", "FIX",
                                           "FUP", "LN",   "ROUND", "SIN",  "SQRT", "TAN"};
  int which = -1;
  for (int i = 0; which < 0 && i < 13; ++i)
    if (take(cursor, kNames[i]))
      which = i;
  if (which < 0)
    bad_number(column, letter);
  const char* name = kNames[which];
  const double x = bracketed(cursor, name, column);
  const auto out_of_range = [&](const char* range) {
    throw Refusal{column, fmt::format("{}[{:.10g}] is out of range: {}", name, x, range),
                  "check the value in the bracket"};
  };
  switch (which) {
  case 0:
    return std::abs(x);
  case 1:
    if (std::abs(x) > 1)
      out_of_range("-1 to 1");
    return std::acos(x) / kRadPerDeg;
  case 2:
    if (std::abs(x) > 1)
      out_of_range("-1 to 1");
    return std::asin(x) / kRadPerDeg;
  case 3: {
    if (cursor.peek() != '/')
      throw Refusal{column, "ATAN with one bracket", "write ATAN[y]/[x]"};
    ++cursor.at;
    if (cursor.peek() != '[')
      throw Refusal{column, "ATAN with one bracket", "write ATAN[y]/[x]"};
    ++cursor.at;
    return std::atan2(x, expression(cursor)) / kRadPerDeg;
  }
  case 4:
    return std::cos(x * kRadPerDeg);
  case 5:
    return checked(std::exp(x), column, "EXP");
  case 6:
    return std::floor(x);
  case 7:
    return std::ceil(x);
  case 8:
    if (x <= 0)
      out_of_range("above 0");
    return std::log(x);
  case 9:
    return std::round(x);
  case 10:
    return std::sin(x * kRadPerDeg);
  case 11:
    if (x < 0)
      out_of_range("0 or more");
    return std::sqrt(x);
  default:
    return checked(std::tan(x * kRadPerDeg), column, "TAN");
  }
}

} // namespace

double read_value(Cursor& cursor, char letter) {
  char c = cursor.peek();
  if (c == '-' ||
      c == '+') { // a sign before anything but a number: LinuxCNC, interp_read.cc, read_real_value
    const char* sign = cursor.at++;
    const char next = cursor.peek();
    if (next == '#' || next == '[' || static_cast<unsigned char>((next | 0x20) - 'a') < 26) {
      const double value = read_value(cursor, letter);
      return c == '-' ? -value : value;
    }
    cursor.at = sign;
  }
  if (is_digit(c) || c == '-' || c == '.' || c == '+')
    return number(cursor, letter);
  if (c == '[') {
    ++cursor.at;
    return expression(cursor);
  }
  if (c == '#') {
    const int column = cursor.column();
    ++cursor.at;
    if (cursor.peek() != '<')
      return cursor.parameters.numbered(read_parameter_index(cursor, column));
    const std::string name = read_name(cursor, column);
    if (const auto value = cursor.parameters.named(name))
      return *value;
    throw Refusal{column, fmt::format("#<{}> is used before it was set", name),
                  fmt::format("set it first: #<{}>=value", name), "parameter before it was set"};
  }
  if (static_cast<unsigned char>((c | 0x20) - 'a') < 26)
    return function(cursor, letter);
  bad_number(cursor.column(), letter);
}

int read_parameter_index(Cursor& cursor, int column) {
  const double value = read_value(cursor, '#');
  const double nearest = std::round(value);
  if (!(nearest >= 1 && nearest <= Parameters::kLast) || std::abs(value - nearest) > 1e-4)
    throw Refusal{column,
                  fmt::format("parameter #{:.10g} is out of range: a whole number from 1 to {}", value,
                              Parameters::kLast),
                  fmt::format("use a parameter from 1 to {}", Parameters::kLast)};
  return static_cast<int>(nearest);
}

std::string read_name(Cursor& cursor, int column) {
  std::string name;
  for (++cursor.at; cursor.peek() != '>'; ++cursor.at) {
    if (cursor.at >= cursor.end)
      throw Refusal{column, "a name is not closed", "write '>' at its end"};
    const char c = *cursor.at;
    name += static_cast<unsigned char>(c - 'A') < 26 ? static_cast<char>(c | 0x20) : c;
  }
  ++cursor.at;
  if (name.empty())
    throw Refusal{column, "a name without letters", "write a name between '<' and '>'"};
  return name;
}

} // namespace snagmap
