// A program that snagmap writes: its text, and the path that came back when the text was read.
#pragma once

#include "sim/program/program.hpp"

#include <string>
#include <vector>

namespace snagmap {

struct WrittenProgram {
  std::string text; ///< the whole file
  Path path;        ///< as our reader reads `text`: cut, judge, rank and show this one
  /// What the file does not carry of its source; in its head too.
  std::vector<note::Remark> restore;
};

/// Writes a path as NC, reads the text back with `how` (program_options of the scene), and compares both move
/// by move. What was ranked is then what the file cuts; with faults there is no file. `name` stands for the
/// file in faults, `comments` head the text. Written again from `path` of what it gave, the moves are the
/// same, so a head may be changed later. `say` makes the sentences of what is not carried over; without it
/// they are its words and kinds.
Outcome<WrittenProgram> written_program(const Path& path, const std::string& name, const ProgramOptions& how,
                                        const std::vector<std::string>& comments, const SayRemark& say = {});

} // namespace snagmap
