// One line of a program, taken apart into words but not yet acted upon.
#pragma once

#include "sim/language/parameters.hpp"

#include <array>
#include <cstdint>
#include <string>

namespace snagmap {

/// A line that cannot be accepted: thrown inside the reader, caught once a line, never leaves it.
struct Refusal {
  int column; ///< 1-based
  std::string what, way_out;
  std::string rule = {}; ///< faults of one rule are told once; empty: `what` without its numbers
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
enum class GroupM : std::uint8_t {
  stop,
  change,
  spindle,
  coolant,
  override_switch,
  modes, ///< M70 to M73
  call,  ///< M97, M98, M99
  user,  ///< outputs and codes the owner of the machine has given a meaning
  refused,
  unknown
};

struct CodeWord {
  int code = 0; ///< G: ten times the number, so G59.1 is 591; M: the number
  int column = 0;
};

/// The words of one line. Letters other than G and M stand at most once: `present` has bit (letter - 'A').
/// The polar words @ and ^ are held as the letters after Z.
struct Block {
  static constexpr int kMostM = 4;
  static constexpr char kRadius = 'Z' + 1, kAngle = 'Z' + 2; ///< @ and ^
  std::uint32_t present = 0;
  std::uint32_t bare = 0; ///< axis letters without a number, on a line with G28 or G30
  std::array<double, 28> value;
  std::array<std::uint16_t, 28> column;
  std::uint32_t groups = 0; ///< bit for each GroupG with a code on this line
  std::array<CodeWord, kGroupsG> g;
  int m_count = 0;
  std::array<CodeWord, kMostM> m;
  bool deleted = false;       ///< begins with '/' and the switch is on: nothing else was read
  bool semicolon = false;     ///< carried a ';' comment
  int open_comment = 0;       ///< column of a '(' comment without its ')'
  int nested_comment = 0;     ///< column of a '(' within a comment
  int colon = 0;              ///< column of ':' in place of N
  int late_number = 0;        ///< column of N after other words
  bool long_line = false;     ///< over 256 characters with its comments
  bool words = false;         ///< anything but comments and N
  bool ends_cycle = false;    ///< G80 stands beside another motion code
  int foreign_units = 0;      ///< column of G70 or G71, which some controls write for G20 and G21
  int long_number_column = 0; ///< N of more than 5 digits
  int flow_column = 0;        ///< an O word stands here: the rest of the line is not read
  int call = 0;               ///< 97, 98 or 99: the M code of a subprogram
  const char *message = nullptr, *message_end = nullptr; ///< text of (MSG, ...), within the line

  void clear() {
    present = bare = 0;
    groups = 0;
    m_count = 0;
    deleted = semicolon = long_line = words = ends_cycle = false;
    open_comment = nested_comment = colon = late_number = foreign_units = long_number_column = flow_column =
        call = 0;
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
