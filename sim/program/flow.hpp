// O words and the M codes of subprograms: which line of which file is run next.
#pragma once

#include "sim/language/block.hpp"
#include "sim/program/program.hpp"

#include <chrono>
#include <cstddef>
#include <map>
#include <memory>
#include <string>
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

/// The lines of one file, and where its O words stand.
struct FlowText {
  struct Word {
    int line; ///< index into lines
    FlowKind kind;
    std::string label; ///< in lower case, without blanks; a number without leading zeros
  };
  std::string name, text;
  std::vector<std::pair<std::size_t, std::size_t>> lines; ///< begin and end in text
  std::vector<Word> words;                                ///< in order
  std::map<int, int> block_number;                        ///< N -> its first line, for M97
};

/// Runs a program with loops and calls from a given line on. The owner executes the lines in between.
class Flow {
public:
  /// A line that ran away, or a file that cannot be called, ends the run: what is thrown then.
  struct Stop {
    Refusal refusal;
  };

  Flow(std::string name, std::string text, std::string folder, const ProgramOptions& options,
       Parameters& parameters);

  /// The next line, or null at the end of the program. It stays valid until the next call.
  struct Line {
    const char *begin, *end;
    int number;              ///< 1-based in its own file
    const std::string* file; ///< name of that file
    int main_line;           ///< 1-based line of the main program: itself, or the line of the outermost call
  };
  const Line* next();
  const Line& line() const { return line_; } ///< the line last given, or the one that ran away
  void start_at(int line) { at_ = line - 1; }

  /// Acts on the O word at `column` of the line last given. Throws Refusal (a wrong line, which is passed
  /// over) or Stop.
  void o_word(int column);
  /// M97, M98 or M99 on that line. False: M99 of the main program, which ends it here.
  bool m_call(const Block& block);
  /// No path will come of it: the rest is read for its faults only, and soon ends.
  void hurry();

private:
  struct Loop {
    FlowKind kind;
    std::string label;
    int line;
    long left; ///< of a repeat
  };
  struct Frame {
    int text, return_to, call_line;
    bool own_parameters;
    int repeats_left, first_line;
    std::array<double, 30> saved;
    std::vector<Loop> loops;
    std::string label;
  };

  const FlowText& text() const { return *texts_[static_cast<std::size_t>(here_)]; }
  std::vector<Loop>& loops() { return frames_.empty() ? loops_ : frames_.back().loops; }
  int load(std::string name, std::string text);
  int find(int text, const std::string& label, FlowKind kind) const;
  int find_after(int line, const std::string& label, std::initializer_list<FlowKind> kinds, int column) const;
  int load_beside(const std::string& what, const std::string& shown, const std::string& label, int column);
  void enter(int text, int line, int repeats, bool own_parameters, const std::vector<double>& arguments,
             const std::string& label, int column);
  void leave();
  void count_line();
  void loop_out(const std::string& label, int column, bool go_on);

  const ProgramOptions& options_;
  Parameters& parameters_;
  std::string folder_;
  std::vector<std::unique_ptr<FlowText>> texts_;
  std::map<std::string, int> loaded_; ///< file called -> index of its text
  int here_ = 0, at_ = 0;             ///< the next line to run
  std::vector<Frame> frames_;
  std::vector<Loop> loops_; ///< of the main program
  Line line_{};
  std::uint64_t run_ = 0, most_ = 0;
  std::chrono::steady_clock::time_point start_;
};

/// [p, stop) is the next line of [p, end); returns where the line after it begins. LF, CRLF and CR end a
/// line.
const char* next_line(const char* p, const char* end, const char*& stop);

} // namespace snagmap
