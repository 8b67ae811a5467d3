#include "sim/program/written.hpp"

#include "sim/program/text.hpp"

#include <fmt/format.h>

#include <cmath>

namespace snagmap {
namespace {

constexpr double kRounding_mm = 1e-6; // both sides hold the same decimals: only doubles are rounded

bool near(double a, double b, double by) {
  return std::abs(a - b) <= by;
}
bool travels(const Move& move) {
  return move.kind == MoveKind::rapid || move.kind == MoveKind::line || move.kind == MoveKind::arc;
}

/// In what a move that was read differs from the one that was meant; empty when in nothing.
std::string difference(const Move& meant, const Move& read) {
  if (meant.kind != read.kind)
    return "another kind of move";
  if (meant.tool != read.tool || meant.tool_number != read.tool_number)
    return fmt::format("tool {} instead of {}", read.tool_number, meant.tool_number);
  if (meant.kind == MoveKind::tool_change)
    return "";
  if (meant.spindle_rpm != read.spindle_rpm &&
      !near(meant.spindle_rpm, read.spindle_rpm, 1e-6 * std::abs(meant.spindle_rpm)))
    return fmt::format("spindle {:g} instead of {:g} rev/min", read.spindle_rpm, meant.spindle_rpm);
  if (meant.coolant != read.coolant)
    return "coolant";
  if (!near(meant.feed_mm_min, read.feed_mm_min, 1e-6 + 1e-6 * meant.feed_mm_min) &&
      meant.kind != MoveKind::rapid)
    return fmt::format("feed {:g} instead of {:g}", read.feed_mm_min, meant.feed_mm_min);
  if (!travels(meant))
    return "";
  if (norm(meant.to - read.to) > kRounding_mm)
    return fmt::format("it ends {:.6f} mm from where it should", norm(meant.to - read.to));
  if (meant.kind == MoveKind::arc &&
      (meant.plane != read.plane || norm(meant.centre - read.centre) > kRounding_mm ||
       !near(arc_turn_rad(meant), arc_turn_rad(read), 1e-3)))
    return "another arc";
  if (meant.corner != read.corner || meant.blend_um != read.blend_um)
    return "path mode";
  if (meant.length_on != read.length_on)
    return "tool length";
  return "";
}

/// "line 3: G92 (zero-not-written)".
std::string bare_words(const note::Remark& remark) {
  std::string words;
  for (const std::string& word : remark.words)
    words += word + " ";
  return fmt::format("line {}: {}({})", remark.line, words, to_text(remark.about));
}

} // namespace

Outcome<WrittenProgram> written_program(const Path& path, const std::string& name, const ProgramOptions& how,
                                        const std::vector<std::string>& comments, const SayRemark& say) {
  WrittenProgram written;
  written.restore = path.words.restore;
  std::vector<std::string> head = comments;
  if (!written.restore.empty())
    head.push_back("not carried over from the program before (lines of that program):");
  for (const note::Remark& one : written.restore)
    head.push_back(say ? say(one) : bare_words(one));
  ProgramText text = program_text(path, head);

  ProgramOptions strict = how;
  strict.block_delete = false;
  Outcome<Path> read = parse_program(text.text, name, strict);
  if (!read)
    return read.faults();
  const auto unlike = [&](int line, const std::string& what) {
    return Fault("the program that would be written is read as another one: " + what,
                 "nothing is written; please report the program", name, line);
  };
  std::size_t n = 0;
  for (const Move& move : read->moves) {
    if (move.kind == MoveKind::dwell && move.feed_mm_min <= 0)
      continue; // a run-up that the reader adds after S and M3
    if (n == text.meant.size())
      return unlike(move.line, "it has more moves");
    if (const std::string what = difference(text.meant[n++], move); !what.empty())
      return unlike(move.line, what);
  }
  if (n != text.meant.size())
    return unlike(0, "it has fewer moves");
  written.text = std::move(text.text);
  written.path = std::move(*read);
  written.path.words.restore = written.restore;
  return written;
}

} // namespace snagmap
