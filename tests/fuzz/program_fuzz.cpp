// Any bytes as a program. Half of the mutations know the grammar: they exchange words, numbers, lines and
// expressions.
#include "tests/fuzz/program_check.hpp"

#include <cstdint>
#include <cstdio>
#include <cstring>
#include <ctime>
#include <random>

extern "C" std::size_t LLVMFuzzerMutate(std::uint8_t* data, std::size_t size, std::size_t most);

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::clock_t start = std::clock(); // processor time: a loaded machine makes no hang
  std::string broken = snagmap::broken_promise({reinterpret_cast<const char*>(data), size});
  if (std::clock() - start > CLOCKS_PER_SEC)
    broken = "over a second of processor time";
  if (broken.empty())
    return 0;
  std::fprintf(stderr, "%s\n", broken.c_str());
  __builtin_trap();
}

namespace {

using Random = std::minstd_rand;

template <std::size_t N> const char* one_of(const char* const (&list)[N], Random& random) {
  return list[random() % N];
}

std::string value(Random& random, int depth) {
  static const char* const kNumbers[] = {
      "0",      "1",    "-1",   "10",  "-5",  "2.5",     ".001",
      "0.0001", "25.4", "9999", "-0.", "1e3", "1000000", "99999999999999999999"};
  static const char* const kFunctions[] = {"ABS", "ACOS", "ASIN",  "COS", "EXP",  "FIX",
                                           "FUP", "LN",   "ROUND", "SIN", "SQRT", "TAN"};
  static const char* const kOperators[] = {"+",   "-",  "*",  "/",  "**", "MOD", "AND", "OR",
                                           "XOR", "EQ", "NE", "GT", "GE", "LT",  "LE"};
  if (depth > 3)
    return one_of(kNumbers, random);
  switch (random() % 10) {
  case 0:
    return "[" + value(random, depth + 1) + one_of(kOperators, random) + value(random, depth + 1) + "]";
  case 1:
    return std::string(one_of(kFunctions, random)) + "[" + value(random, depth + 1) + "]";
  case 2:
    return "ATAN[" + value(random, depth + 1) + "]/[" + value(random, depth + 1) + "]";
  case 3:
    return "#" + value(random, depth + 1);
  default:
    return one_of(kNumbers, random);
  }
}

std::string word(Random& random) {
  static const char* const kWords[] = {"G0",
                                       "G1",
                                       "G2",
                                       "G3",
                                       "G4",
                                       "G10 L2 P2",
                                       "G17",
                                       "G18",
                                       "G19",
                                       "G20",
                                       "G21",
                                       "G28",
                                       "G30",
                                       "G40",
                                       "G41",
                                       "G43 H1",
                                       "G49",
                                       "G53",
                                       "G54",
                                       "G55",
                                       "G59.1",
                                       "G61",
                                       "G61.1",
                                       "G64",
                                       "G73",
                                       "G80",
                                       "G81",
                                       "G82",
                                       "G83",
                                       "G84",
                                       "G85",
                                       "G86",
                                       "G88",
                                       "G89",
                                       "G90",
                                       "G91",
                                       "G90.1",
                                       "G91.1",
                                       "G92",
                                       "G92.1",
                                       "G92.2",
                                       "G92.3",
                                       "G93",
                                       "G94",
                                       "G98",
                                       "G41",
                                       "G42",
                                       "G41.1 D2",
                                       "G42.1 D3",
                                       "G52 X1",
                                       "G74",
                                       "G95",
                                       "G10 L20 P1",
                                       "G10 L1 P1 R2",
                                       "M97 P10",
                                       "M98 P100",
                                       "M98 P100 L2",
                                       "M99",
                                       "M100",
                                       "O100 sub",
                                       "O100 endsub",
                                       "O100 call [1] [2]",
                                       "O101 while [#1 LT 3]",
                                       "O101 endwhile",
                                       "O101 do",
                                       "O102 repeat [2]",
                                       "O102 endrepeat",
                                       "O103 if [#1]",
                                       "O103 elseif [1]",
                                       "O103 else",
                                       "O103 endif",
                                       "O101 break",
                                       "O101 continue",
                                       "O100 return [3]",
                                       "#<a>=1",
                                       "#<_b>=2",
                                       "X#<a>",
                                       "EXISTS[#<a>]",
                                       "@5",
                                       "^30",
                                       "$H",
                                       "G99",
                                       "M0",
                                       "M2",
                                       "M3",
                                       "M4",
                                       "M5",
                                       "M6",
                                       "M8",
                                       "M30",
                                       "T1",
                                       "T2",
                                       "(note)",
                                       "(MSG, x)",
                                       "; rest",
                                       "%",
                                       "/",
                                       "N10",
                                       "O100"};
  static const char kLetters[] = "XYZIJKRFSPQLHTDAXYZIJRF";
  if (random() % 2)
    return one_of(kWords, random);
  if (random() % 8 == 0)
    return "#" + value(random, 2) + "=" + value(random, 0);
  return kLetters[random() % (sizeof kLetters - 1)] + value(random, 0);
}

std::size_t line_start(const std::string& text, Random& random) {
  if (text.empty())
    return 0;
  const std::size_t at = text.rfind('\n', random() % text.size());
  return at == std::string::npos ? 0 : at + 1;
}

} // namespace

extern "C" std::size_t LLVMFuzzerCustomMutator(std::uint8_t* data, std::size_t size, std::size_t most,
                                               unsigned seed) {
  Random random(seed + 1);
  if (random() % 2)
    return LLVMFuzzerMutate(data, size, most);
  std::string text(reinterpret_cast<char*>(data), size);
  for (unsigned n = 1 + random() % 3; n > 0; --n) {
    const std::size_t start = line_start(text, random), end = std::min(text.find('\n', start), text.size());
    const std::string line = text.substr(start, end - start);
    switch (random() % 6) {
    case 0:
      text.insert(start, word(random) + " ");
      break;
    case 1:
      text.insert(end, " " + word(random));
      break;
    case 2:
      text.insert(start, line + "\n");
      break;
    case 3:
      text.erase(start, std::min(end + 1, text.size()) - start);
      break;
    case 4:
      text.insert(end, "\n" + word(random) + " " + word(random) + " " + word(random));
      break;
    default: { // another number after one of the line's letters
      const std::size_t letter =
          line.find_first_of("XYZIJKRFSPQLHT", line.empty() ? 0 : random() % line.size());
      if (letter == std::string::npos)
        break;
      std::size_t tail = letter + 1;
      while (tail < line.size() && std::strchr("+-.0123456789", line[tail]))
        ++tail;
      text.replace(start + letter + 1, tail - letter - 1, value(random, 1));
    }
    }
  }
  size = std::min(text.size(), most);
  std::memcpy(data, text.data(), size);
  return size;
}
