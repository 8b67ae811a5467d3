#include "sim/program/text.hpp"

#include "models/constants.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>

namespace snagmap {
namespace {

/// Writes words only where they change.
class Writer {
public:
  Writer(bool inch, const std::map<int, int>& tool_number) : inch_(inch), tool_number_(tool_number) {}

  void move(const Move& move) {
    spindle(move);
    switch (move.kind) {
    case MoveKind::tool_change:
      change(move);
      break;
    case MoveKind::stop:
      line("M0");
      break;
    case MoveKind::dwell:
      if (move.feed_mm_min > 0) // none: the spindle runs up, which its own word has said
        line(fmt::format("G4 P{:g}", move.feed_mm_min));
      break;
    case MoveKind::rapid:
      if (const std::string to = ends(move); !to.empty())
        line("G0" + to);
      break;
    case MoveKind::line:
      mode(move);
      if (const std::string to = ends(move); !to.empty())
        line("G1" + to + feed(move));
      break;
    case MoveKind::arc:
      mode(move);
      arc(move);
      break;
    }
  }
  void line(const std::string& words) { text += words + "\n"; }

  std::string text;

private:
  std::string word(char letter, double mm) const { return std::string(" ") + letter + nc_number(mm, inch_); }

  /// End words that differ from where the tip stands, by what was written, not by what was meant.
  std::string ends(const Move& move) {
    const std::array<double, 3> to{move.to.x, move.to.y, move.to.z};
    std::string words;
    for (std::size_t axis = 0; axis < 3; ++axis) {
      std::string number = nc_number(to[axis], inch_);
      if (number == at_[axis])
        continue;
      words += std::string(" ") + "XYZ"[axis] + number;
      at_[axis] = std::move(number);
    }
    return words;
  }

  std::string feed(const Move& move) {
    std::string f = fmt::format(" F{:.6g}", inch_ ? move.feed_mm_min / kInch_mm : move.feed_mm_min);
    if (f == feed_)
      return "";
    return feed_ = f;
  }

  void spindle(const Move& move) {
    if (move.spindle_rpm == rpm_ ||
        move.kind == MoveKind::tool_change) // a change stops the spindle by itself
      return;
    rpm_ = move.spindle_rpm;
    line(rpm_ > 0 ? fmt::format("S{:g} M3", rpm_) : "M5");
  }

  void change(const Move& move) {
    const auto number = tool_number_.find(move.tool);
    if (number == tool_number_.end())
      return;
    if (rpm_ > 0)
      line("M5");
    rpm_ = 0;
    line("(set the zero of the new cutter's tip before going on)");
    line(fmt::format("T{} M6", number->second));
  }

  void mode(const Move& move) {
    std::string words = move.corner == CornerMode::exact_stop   ? "G61.1"
                        : move.corner == CornerMode::exact_path ? "G61"
                                                                : "G64";
    if (move.corner == CornerMode::blend && move.blend_um > 0)
      words += " P" + nc_number(1e-3 * move.blend_um, inch_);
    if (words == mode_)
      return;
    if (!(mode_.empty() && words == "G64")) // the machine's own mode needs no word
      line(words);
    mode_ = words;
  }

  void arc(const Move& move) {
    const double share = 2 * kPi / std::max(std::abs(arc_turn_rad(move)), 1e-9);
    Move part = move; // a line holds at most one turn
    part.full_turns = 0;
    part.turn_rad = static_cast<float>(std::copysign(2 * kPi, move.turn_rad));
    for (int k = 0; k < move.full_turns; ++k) {
      part.to = point_at(move, (k + 1) * share);
      one_turn(part);
      part.from = part.to;
    }
    part.to = move.to;
    part.turn_rad = move.turn_rad;
    one_turn(part);
  }

  void one_turn(const Move& move) {
    static constexpr const char* kPlane[] = {"G17", "G18", "G19"};
    const auto p = static_cast<std::size_t>(move.plane);
    if (plane_ != p)
      line(kPlane[p]);
    plane_ = p;
    const std::string to = ends(move);
    if (to.empty() && std::abs(arc_turn_rad(move)) < kPi)
      return; // shorter than the last decimal: without end words it would be read as a whole turn
    std::string words = (move.turn_rad > 0 ? "G3" : "G2") + to;
    switch (move.plane) {
    case ArcPlane::xy:
      words += word('I', move.centre.x - move.from.x) + word('J', move.centre.y - move.from.y);
      break;
    case ArcPlane::zx:
      words += word('I', move.centre.y - move.from.x) + word('K', move.centre.x - move.from.z);
      break;
    case ArcPlane::yz:
      words += word('J', move.centre.x - move.from.y) + word('K', move.centre.y - move.from.z);
      break;
    }
    line(words + feed(move));
  }

  bool inch_;
  const std::map<int, int>& tool_number_;
  std::array<std::string, 3> at_;
  std::string feed_, mode_;
  float rpm_ = 0;
  std::size_t plane_ = 0;
};

} // namespace

std::string nc_number(double mm, bool inch) {
  const int digits = inch ? 5 : 4;
  const double value = inch ? mm / kInch_mm : mm;
  return fmt::format("{:.{}f}", std::abs(value) < 0.5 * std::pow(10, -digits) ? 0.0 : value, digits);
}

std::string nc_comment(std::string words) {
  for (char& c : words)
    c = c == '(' ? '[' : c == ')' ? ']' : c < ' ' || c > '~' ? '?' : c;
  return "(" + words + ")";
}

std::string program_text(const Path& path, const std::map<int, int>& tool_number,
                         const std::vector<std::string>& comments) {
  Writer writer(path.inch, tool_number);
  writer.line("%");
  for (const std::string& comment : comments)
    writer.line(nc_comment(comment));
  writer.line(path.inch ? "G20 G90 G17 G94" : "G21 G90 G17 G94");
  for (const Move& move : path.moves)
    writer.move(move);
  writer.line("M5");
  writer.line("M30");
  writer.line("%");
  return std::move(writer.text);
}

} // namespace snagmap
