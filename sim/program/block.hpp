// One line of a program, taken apart into words but not yet acted upon.
#pragma once

#include <array>
#include <cstdint>
#include <string>

namespace snagmap {

/// A line that cannot be accepted: thrown inside the reader, caught once a line, never leaves it.
struct Refusal {
  int column; ///< 1-based
  std::string what, way_out;
};

/// Parameters 1 to 5400 of the standard; all begin at 0.
struct Parameters {
  static constexpr int kLast = 5400;
  std::array<double, kLast + 1> value{};
};

enum class GroupG : std::uint8_t {
  one_line,
  motion,
  plane,
  distance,
  arc_distance,
  feed_mode,
  units,
  compensation,
  length,
  cycle_return,
  system,
  path,
  cancelled, ///< codes that end a function the reader refuses: accepted with a note
  refused,   ///< known by name, refused by name
  unknown
};
constexpr int kGroupsG = static_cast<int>(GroupG::cancelled) + 1;
enum class GroupM : std::uint8_t { stop, change, spindle, coolant, override_switch, refused, unknown };

struct CodeWord {
  int code = 0; ///< G: ten times the number, so G59.1 is 591; M: the number
  int column = 0;
};

/// The words of one line. Letters other than G and M stand at most once: `present` has bit (letter - 'A').
struct Block {
  static constexpr int kMostM = 4, kMostSettings = 64;
  std::uint32_t present = 0;
  std::array<double, 26> value;
  std::array<std::uint16_t, 26> column;
  std::uint32_t groups = 0; ///< bit for each GroupG with a code on this line
  std::array<CodeWord, kGroupsG> g;
  int m_count = 0;
  std::array<CodeWord, kMostM> m;
  bool deleted = false;          ///< begins with '/' and the switch is on: nothing else was read
  bool semicolon = false;        ///< carried a ';' comment
  int long_number_column = 0;    ///< N of more than 5 digits
  int program_number_column = 0; ///< O and a number, alone
  const char *message = nullptr, *message_end = nullptr; ///< text of (MSG, ...), within the line

  void clear() {
    present = 0;
    groups = 0;
    m_count = 0;
    deleted = semicolon = false;
    long_number_column = program_number_column = 0;
    message = nullptr;
  }
  bool has(char letter) const { return present >> (letter - 'A') & 1; }
  double operator[](char letter) const { return value[letter - 'A']; }
  int column_of(char letter) const { return column[letter - 'A']; }
  bool has(GroupG group) const { return groups >> static_cast<int>(group) & 1; }
  const CodeWord& operator[](GroupG group) const { return g[static_cast<int>(group)]; }
};

constexpr std::uint32_t letter_bit(char letter) {
  return 1u << (letter - 'A');
}
constexpr std::uint32_t kAxisLetters = letter_bit('X') | letter_bit('Y') | letter_bit('Z');
/// The value of a letter that must be a whole number from 0 to `most`, as T, H and P of G10 must. Throws
/// Refusal.
int whole(const Block& block, char letter, int most);
/// "G59.1" from 591.
std::string g_name(int code);

} // namespace snagmap
