// Lines of a program in, faults and a path out: what does not depend on where the text comes from.
#pragma once

#include "sim/control/flow.hpp"
#include "sim/control/interpreter.hpp"
#include "sim/language/block.hpp"
#include "sim/language/faults.hpp"
#include "sim/program/program.hpp"

#include <string>

namespace snagmap {

class ProgramReader {
public:
  /// `bytes` is the size of the whole program.
  ProgramReader(std::string name, double bytes, const ProgramOptions& options)
      : name_(std::move(name)), bytes_(bytes), options_(options), run_(options),
        faults_(options.fault_limit) {}

  /// One line without its end; `*end` is '\n', '\r' or 0. False when no more lines are wanted: see
  /// `wants_text`.
  bool line(const char* begin, const char* end);

  /// A loop or a call was met on the line last read: the program is to be run by `run_from_here`, from
  /// memory.
  bool wants_text() const { return wants_text_; }
  /// The whole program, from the line last read on; `folder` is where called files lie, empty for none.
  void run_from_here(std::string text, const std::string& folder);

  Outcome<Path> finish();

  void refuse(Fault fault);
  /// After a first part of the program: makes room for the path it will give, or refuses it at once.
  bool make_room();

private:
  /// As dense as what was read, and 2 % for the rest being denser.
  double estimated_moves() const;
  Fault too_long() const;
  /// Acts on one line of any file. False when no more lines are wanted.
  bool act(const char* begin, const char* p, const char* end, int number, int main_line,
           const std::string& file);

  /// O and a number alone names the program, which needs no more than a note.
  bool names_program(const char* begin, const char* end);

  bool flow(int main_line);

  /// $ and ? speak to the sender or the control, not to the program (GRBL, interface and settings).
  bool sender_line(const char* p, const char* begin, const char* end);

  /// The end of the text without M2, M30 or '%'. GRBL streams such a file to its end; LinuxCNC asks for an
  /// ending.
  void unfinished();

  bool percent_line(const char* p, const char* begin, const char* end, bool first);

  void remarks(int line);
  void remark(RemarkKind about, int line) { run_.remarks().once({about, line, {}, {}, {}}); }

  std::string name_;
  double bytes_, read_ = 0;
  const ProgramOptions& options_;
  Interpreter run_;
  Block block_;
  ProgramFaults faults_;
  Flow* flow_ = nullptr; ///< while the program is run from memory
  int number_ = 0, messages_ = 0;
  bool begun_text_ = false; ///< some line was not blank
  bool begun_ = false;      ///< some line held more than comments
  bool percent_ = false, second_percent_ = false, ended_ = false, closed_ = false, wants_text_ = false;
};

} // namespace snagmap
