// O words taken apart, and where they stand in the lines of a file.
#pragma once

#include "sim/language/expression.hpp"

#include <cstdint>
#include <initializer_list>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace snagmap {

enum class FlowKind : std::uint8_t {
  number, ///< O and a number alone: names a program
  sub,
  endsub,
  return_,
  call,
  do_,
  while_,
  endwhile,
  if_,
  elseif,
  else_,
  endif,
  repeat,
  endrepeat,
  break_,
  continue_
};
const char* word_of(FlowKind kind);

/// One O word. What follows it on its line is read in order: values first, then `end`.
class OWord {
public:
  enum class Label { evaluated, as_written }; ///< a label that is an expression: its value, or empty
  /// The cursor stands on the O. Throws Refusal.
  OWord(Cursor cursor, Label how);

  int column;                   ///< of the O
  std::string label;            ///< in lower case, without blanks; a number without leading zeros
  std::string shown;            ///< the label as it was written
  std::string word;             ///< in lower case
  std::optional<FlowKind> kind; ///< none: no word of the language

  /// "o100 while", to speak of it.
  std::string name() const { return "o" + shown + " " + word; }
  bool has_value() { return cursor_.peek() == '['; }
  /// The [value] that must stand next.
  double value();
  /// All that stand next; throws Refusal at one more than `most`.
  std::vector<double> values(std::size_t most);
  /// Nothing but comments may follow `what`.
  void end(const std::string& what);
  void end() { end(name()); }

private:
  Cursor cursor_;
};

/// A line of `o100 while` and the like without the value that it needs.
Refusal value_missing(const std::string& name, int column);

/// The lines of one file, and where its O words stand.
class FlowText {
public:
  FlowText(std::string file, std::string text, Parameters& parameters);

  const std::string& file() const { return file_; }
  int lines() const { return static_cast<int>(lines_.size()); }
  /// Begin and end of a line, counted from 0.
  std::pair<const char*, const char*> line(int index) const;
  /// The first line with this O word.
  std::optional<int> find(const std::string& label, FlowKind kind) const;
  /// The line of the next O word with this label and one of these kinds. Throws Refusal, about a word at
  /// `column`, when there is none: the last kind is the one that is missed.
  int find_after(int line, const std::string& label, std::initializer_list<FlowKind> kinds, int column) const;
  /// The O word that find or find_after found on a line, its label evaluated.
  OWord word_at(int line) const;
  /// The first line with this block number (N), for M97.
  std::optional<int> block(int number) const;

private:
  struct Word {
    int line; ///< index into lines_
    int column;
    FlowKind kind;
    std::string label;
  };
  void index(int line, const char* begin, const char* end);

  std::string file_, text_;
  Parameters& parameters_;
  std::vector<std::pair<std::size_t, std::size_t>> lines_; ///< begin and end in text_
  std::vector<Word> words_;                                ///< in order
  std::map<int, int> blocks_;                              ///< N -> its first line
};

/// [p, stop) is the next line of [p, end); returns where the line after it begins. LF, CRLF and CR end a
/// line.
const char* next_line(const char* p, const char* end, const char*& stop);

} // namespace snagmap
