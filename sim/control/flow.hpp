// O words and the M codes of subprograms: which line of which file is run next.
#pragma once

#include "sim/control/options.hpp"
#include "sim/language/block.hpp"
#include "sim/language/o_words.hpp"

#include <chrono>
#include <cstddef>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace snagmap {

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
  static constexpr std::size_t kMostArguments = 30; // #1 to #30
  struct Loop {
    FlowKind kind;
    std::string label;
    int line;
    long left = 0; ///< of a repeat
  };
  /// What a call goes back to.
  struct Frame {
    int text, call_line; ///< where the caller stands
    int first_line;      ///< of the subprogram, for its repeats
    int repeats_left;
    bool own_parameters;
    std::array<double, kMostArguments> saved = {};
    std::vector<Loop> loops = {}; ///< of the subprogram
  };
  /// A subprogram found: the line that begins it.
  struct Place {
    int text, line;
  };
  struct Call {
    Place place; ///< run from the line after it
    std::string label;
    int column, repeats = 1;
    bool own_parameters = false;
    std::vector<double> arguments = {};
  };

  const FlowText& text() const { return *texts_[static_cast<std::size_t>(here_)]; }
  std::vector<Loop>& loops() { return frames_.empty() ? loops_ : frames_.back().loops; }
  int line_index() const { return line_.number - 1; }
  void show(int text, int line);
  void count_line();
  std::string what_runs();
  // Calls.
  int load(std::string file, std::string text);
  int load_beside(const std::string& what, const std::string& shown, const std::string& label, int column);
  std::optional<Place> find(const std::string& label, FlowKind kind) const;
  Place program_called(int number, const Block& block);
  Place sub_called(const OWord& o);
  void enter(const Call& call);
  void leave();
  // O words: flow_words.cpp.
  void call(OWord& o);
  void return_from(OWord& o);
  void skip_sub(OWord& o);
  void begin_do(OWord& o);
  void while_(OWord& o);
  void end_while(OWord& o);
  void repeat(OWord& o);
  void end_repeat(OWord& o);
  void if_(OWord& o);
  void skip_to_endif(const OWord& o);
  void leave_loop(OWord& o);
  void next_round(OWord& o);
  Loop& loop_of(const OWord& o);
  Loop& closed_by(const OWord& o, FlowKind begin);
  int after(const OWord& o, FlowKind end) const;

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

} // namespace snagmap
