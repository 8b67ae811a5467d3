#include "sim/language/scanner.hpp"

#include "sim/language/expression.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

namespace snagmap {
namespace {

constexpr int kLongestLine = 256;   // LinuxCNC takes 255 characters, GRBL 80 without comments and blanks
constexpr int kLongestRead = 16384; // with comments; columns are held in 16 bits

class LineScanner {
public:
  LineScanner(const char* begin, const char* end, Parameters& parameters, Block& block)
      : cursor_{begin, begin, end, parameters}, block_(block) {}

  void scan(bool block_delete) {
    if (cursor_.end - cursor_.begin > kLongestLine)
      long_line();
    char c = cursor_.peek();
    if (c == '/') {
      if (block_delete) {
        block_.deleted = true;
        return;
      }
      ++cursor_.at;
      c = cursor_.peek();
    }
    if ((c | 0x20) == 'n') {
      line_number();
      c = cursor_.peek();
    } else if (c == ':' && cursor_.at + 1 < cursor_.end && cursor_.at[1] >= '0' && cursor_.at[1] <= '9' &&
               !names_program()) {
      block_.colon = cursor_.column();
      line_number();
      c = cursor_.peek();
    }
    if ((c | 0x20) == 'o' || (c == ':' && names_program())) {
      block_.flow_column = cursor_.column();
      return;
    }
    while ((c = cursor_.peek()) != 0 || cursor_.at < cursor_.end) {
      if (is_letter(c) || c == '@' || c == '^')
        word(c == '@' ? Block::kRadius : c == '^' ? Block::kAngle : static_cast<char>(c & ~0x20));
      else if (c == '(')
        comment();
      else if (c == '#')
        setting();
      else if (c == ';') {
        block_.semicolon = true;
        break;
      } else
        stray(c);
    }
    for (const Setting& setting : settings_)
      if (setting.index > 0)
        cursor_.parameters.value[static_cast<std::size_t>(setting.index)] = setting.value;
      else
        cursor_.parameters.set(setting.name, setting.value);
  }

private:
  /// ':' and digits alone, which some controls write for O.
  bool names_program() {
    const char* p = cursor_.at + 1;
    while (p < cursor_.end && (*p == ' ' || *p == '\t' || (*p >= '0' && *p <= '9')))
      ++p;
    return p > cursor_.at + 1 && (p == cursor_.end || *p == '(' || *p == ';');
  }
  /// What lies past the limit may be comment only.
  void long_line() {
    const auto length = cursor_.end - cursor_.begin;
    const char* p = cursor_.begin;
    std::size_t counted = 0;
    for (; p < cursor_.end && *p != ';'; ++p) {
      if (*p == '(')
        while (p < cursor_.end && *p != ')')
          ++p;
      else
        ++counted;
    }
    if (counted > kLongestLine || length > kLongestRead)
      throw Refusal{kLongestLine + 1,
                    fmt::format("line of {} characters: RS-274 allows at most {}", length, kLongestLine),
                    "split the line, or shorten its comment"};
    block_.long_line = true;
  }

  static bool is_letter(char c) { return static_cast<unsigned char>((c | 0x20) - 'a') < 26; }

  [[noreturn]] void stray(char c) {
    const int column = cursor_.column();
    if (c == '/')
      throw Refusal{column, "'/' inside a line: block delete stands first, and a division needs [ ]",
                    "move the '/' to the start of the line, or write the value as [a/b]"};
    if (c == '%')
      throw Refusal{column, "'%' inside a line: a percent sign stands alone on the first and the last line",
                    "put it on a line of its own"};
    if (c == ')')
      throw Refusal{column, "')' without a comment to close",
                    "comments do not nest: use other brackets inside a comment"};
    if (c == ',' && cursor_.at + 1 < cursor_.end && cursor_.at[1] >= '0' && cursor_.at[1] <= '9')
      throw Refusal{column, "',' inside a number: RS-274 has a decimal point", "write X1.5"};
    if (c == ',')
      throw Refusal{column, "',' begins a corner rounding or chamfer (,R ,C) of another control",
                    "let the post-processor write the arc or the line"};
    if (c == '*' && cursor_.at + 1 < cursor_.end && cursor_.at[1] >= '0' && cursor_.at[1] <= '9')
      throw Refusal{column, "'*' and a number is the checksum of a sender's line",
                    "post the program without checksums"};
    if (c == ']')
      throw Refusal{column, "']' without an expression to close", "write '[' before the expression"};
    if (c == '.' || c == '-' || c == '+' || (c >= '0' && c <= '9'))
      throw Refusal{column, "a number without a letter before it",
                    "write the letter of the word, such as X or F"};
    const auto byte = static_cast<unsigned char>(c);
    if (byte > 32 && byte < 127)
      throw Refusal{
          column, fmt::format("'{}' does not begin a word, comment or parameter setting", c),
          "find out what it means to the control it was written for; if it is a remark, put it into "
          "( )"};
    throw Refusal{column, fmt::format("byte {} is no printable character", byte),
                  "check that this is an NC program; remarks in other alphabets belong into ( )",
                  "byte outside ASCII"};
  }

  /// N and up to 5 digits, no sign; more digits are passed over with a note.
  void line_number() {
    const int column = cursor_.column();
    ++cursor_.at;
    int digits = 0;
    while (cursor_.peek() >= '0' && cursor_.peek() <= '9')
      ++cursor_.at, ++digits;
    if (digits == 0)
      throw Refusal{column, "N without a whole number: a block number is N and digits, without sign",
                    "write N10, or leave the block number out"};
    if (cursor_.peek() == '.')
      throw Refusal{column, "N with a decimal point: a block number is a whole number",
                    "write N10, or leave the block number out"};
    if (digits > 5)
      block_.long_number_column = column;
  }

  void word(char letter) {
    const int column = cursor_.column();
    ++cursor_.at;
    block_.words = true;
    if (letter == 'G')
      return code_g(column);
    if (letter == 'M')
      return code_m(column);
    if (letter == 'N') { // GRBL takes N anywhere (gcode.c, step 2), LinuxCNC first on the line only
      --cursor_.at;
      line_number();
      block_.late_number = column;
      return;
    }
    if (letter == 'O')
      throw Refusal{column, "O after other words: an O word stands first on its line",
                    "put the subprogram, loop or condition on a line of its own"};
    const char shown = letter == Block::kRadius ? '@' : letter == Block::kAngle ? '^' : letter;
    if (block_.has(letter))
      throw Refusal{column, fmt::format("letter {} twice on one line", shown),
                    fmt::format("write {} once, or split the line", shown)};
    if (letter >= 'X' && letter <= 'Z' && goes_home() && !begins_value(cursor_.peek())) {
      block_.bare |= letter_bit(letter);
      block_.column[static_cast<std::size_t>(letter - 'A')] = static_cast<std::uint16_t>(column);
      return;
    }
    const double value = read_value(cursor_, shown);
    block_.present |= letter_bit(letter);
    block_.value[letter - 'A'] = value;
    block_.column[letter - 'A'] = static_cast<std::uint16_t>(column);
  }

  bool goes_home() const {
    return block_.has(GroupG::one_line) &&
           (block_[GroupG::one_line].code == 280 || block_[GroupG::one_line].code == 300);
  }
  static bool begins_value(char c) {
    return (c >= '0' && c <= '9') || c == '.' || c == '-' || c == '+' || c == '[' || c == '#';
  }

  void code_g(int column) {
    const double value = read_value(cursor_, 'G');
    const double tenfold = value * 10;
    const int code = tenfold >= 0 && tenfold < 1000 ? static_cast<int>(tenfold + 0.5) : -1;
    if (code < 0 || std::abs(tenfold - code) > 1e-3)
      throw Refusal{column,
                    fmt::format("G{:.10g} is not a G code: 0 to 99.9 with at most one decimal", value),
                    "check the code: G0, G1 or G59.1 are written so"};
    if (code == 700 || code == 710) // whether it is read, the rest of the line decides
      return units_of_others(code, column);
    const GroupG group = group_of_g(code);
    if (group >= GroupG::refused) {
      if (const NamedRefusal* named = refusal_of_g(code))
        throw Refusal{column, g_name(code) + ": " + named->what, named->way_out};
      throw Refusal{
          column, g_name(code) + " is unknown: not in the subset of RS-274 read here",
          "look it up in the manual of the control it was written for; plain G0 to G3 moves are read",
          g_name(code) + " is unknown"};
    }
    if (group == GroupG::motion && block_.has(group) && (code == 800) != (block_[group].code == 800)) {
      // A safety line: G80 ends any cycle, the other code is the motion. LinuxCNC reads it so too.
      block_.ends_cycle = true;
      if (code == 800)
        return;
    } else if (block_.has(group) && group != GroupG::cancelled)
      throw Refusal{column,
                    fmt::format("{} and {} on one line: both are of one modal group",
                                g_name(block_[group].code), g_name(code)),
                    "keep the one that is meant, or write them on two lines"};
    block_.groups |= 1u << static_cast<int>(group);
    block_.g[static_cast<int>(group)] = {code, column};
  }

  void units_of_others(int code, int column) {
    block_.foreign_units = column;
    if (block_.has(GroupG::units))
      throw Refusal{column,
                    fmt::format("{} beside {}: units twice, or a lathe's cycle", g_name(code),
                                g_name(block_[GroupG::units].code)),
                    "write G20 or G21 alone"};
    block_.groups |= 1u << static_cast<int>(GroupG::units);
    block_.g[static_cast<int>(GroupG::units)] = {code == 700 ? 200 : 210, column};
  }

  void code_m(int column) {
    const double value = read_value(cursor_, 'M');
    const int code = value >= 0 && value < 1000 ? static_cast<int>(value + 0.5) : -1;
    if (code < 0 || std::abs(value - code) > 1e-4)
      throw Refusal{column, fmt::format("M{:.10g} is not an M code: a whole number from 0", value),
                    "check the code"};
    const GroupM group = group_of_m(code);
    if (group >= GroupM::refused) {
      if (const NamedRefusal* named = refusal_of_m(code))
        throw Refusal{column, fmt::format("M{}: {}", code, named->what), named->way_out};
      throw Refusal{
          column, fmt::format("M{} is unknown: not in the subset of RS-274 read here", code),
          "look it up in the manual of the control; leave it out only if it neither moves the cutter "
          "nor turns the spindle",
          fmt::format("M{} is unknown", code)};
    }
    if (group == GroupM::call)
      block_.call = code;
    if (block_.m_count == Block::kMostM)
      throw Refusal{column, "a fifth M word on one line: RS-274 allows at most 4", "split the line"};
    for (int i = 0; i < block_.m_count; ++i) {
      const int other = block_.m[i].code;
      const bool both_coolants = group == GroupM::coolant && other != 9 && code != 9 && other != code;
      if (group_of_m(other) == group && group != GroupM::user && !both_coolants)
        throw Refusal{column,
                      fmt::format("M{} and M{} on one line: both are of one modal group", other, code),
                      "keep the one that is meant, or write them on two lines"};
    }
    block_.m[block_.m_count++] = {code, column};
  }

  void comment() {
    const char* open = cursor_.at;
    const char* p = open + 1;
    for (; p < cursor_.end && *p != ')'; ++p)
      if (*p == '(')
        block_.nested_comment = static_cast<int>(p - cursor_.begin) + 1;
    if (block_.nested_comment && p < cursor_.end) {
      const char* rest = p + 1;
      while (rest < cursor_.end && *rest != '(' && *rest != ')' && *rest != ';')
        ++rest;
      if (rest < cursor_.end && *rest == ')') // a second one to close: no controller reads this
        throw Refusal{block_.nested_comment, "'(' inside a comment: comments do not nest",
                      "use other brackets inside the comment"};
    }
    if (p == cursor_.end) // GRBL ends it with the line (protocol.c), LinuxCNC refuses it
      block_.open_comment = cursor_.column();
    cursor_.at = std::min(p + 1, cursor_.end);
    const char* text = open + 1;
    while (text < p && (*text == ' ' || *text == '\t'))
      ++text;
    if (p - text >= 3 && (text[0] | 0x20) == 'm' && (text[1] | 0x20) == 's' && (text[2] | 0x20) == 'g') {
      block_.message = text + 3;
      block_.message_end = p;
    }
  }

  void setting() {
    const int column = cursor_.column();
    ++cursor_.at;
    block_.words = true;
    Setting setting;
    std::string shown;
    if (cursor_.peek() == '<') {
      setting.name = read_name(cursor_, column);
      shown = "<" + setting.name + ">";
    } else {
      setting.index = read_parameter_index(cursor_, column);
      shown = std::to_string(setting.index);
    }
    if (cursor_.peek() != '=')
      throw Refusal{column,
                    fmt::format("#{} stands alone: a parameter is set with '=' or used as a value", shown),
                    fmt::format("write #{}=value, or a letter before it", shown)};
    ++cursor_.at;
    setting.value = read_value(cursor_, '=');
    if (const char c = cursor_.peek(); c == '+' || c == '-' || c == '*' || c == '/')
      throw Refusal{cursor_.column(),
                    "arithmetic without [ ]: a macro statement of another control's language",
                    fmt::format("write #{}=[...]", shown), "arithmetic without brackets"};
    settings_.push_back(std::move(setting));
  }

  struct Setting {
    int index = 0; ///< 0: named
    double value = 0;
    std::string name;
  };
  Cursor cursor_;
  Block& block_;
  std::vector<Setting> settings_;
};

} // namespace

int whole(const Block& block, char letter, int most) {
  const double value = block[letter];
  const double nearest = std::round(value);
  if (!(nearest >= 0) || std::abs(value - nearest) > 1e-4 || nearest > most)
    throw Refusal{block.column_of(letter),
                  fmt::format("{}{:.10g} is not a whole number from 0 to {}", letter, value, most),
                  fmt::format("write {} with a whole number", letter)};
  return static_cast<int>(nearest);
}

void scan_line(const char* begin, const char* end, bool block_delete, Parameters& parameters, Block& block) {
  block.clear();
  LineScanner(begin, end, parameters, block).scan(block_delete);
}

} // namespace snagmap
