#include "sim/program/text.hpp"

#include "models/base/constants.hpp"
#include "sim/control/arc.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <cstdlib>

namespace snagmap {
namespace {

constexpr double kLeastRadius_mm = 5e-4; // a smaller arc has fewer than ten steps of the last decimal
constexpr std::size_t kCommentLength = 78;
constexpr std::size_t kLongestOrder = 10; // letters of an order in a comment

/// Seven digits, as many as a float of the path holds, and no zeros behind them.
std::string trimmed(double value) {
  const int whole = value >= 1 ? static_cast<int>(std::floor(std::log10(value))) + 1 : 0;
  std::string text = fmt::format("{:.{}f}", value, std::max(0, 7 - whole));
  if (text.find('.') == std::string::npos)
    return text;
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.')
    text.pop_back();
  return text;
}

std::array<double, 3> axes(Vec3 v) {
  return {v.x, v.y, v.z};
}

/// The plane's axes in the order that makes G3 anticlockwise, as Move has it.
std::array<std::size_t, 2> plane_axes(ArcPlane plane) {
  return plane == ArcPlane::xy   ? std::array<std::size_t, 2>{0, 1}
         : plane == ArcPlane::zx ? std::array<std::size_t, 2>{2, 0}
                                 : std::array<std::size_t, 2>{1, 2};
}

/// Writes words only where they change.
class Writer {
public:
  explicit Writer(const Path& path) : words_(path.words), inch_(path.inch) {
    by_hand_ = words_.first_named[0] < 0 && words_.first_named[1] < 0 && words_.first_named[2] < 0;
    if (!path.moves.empty())
      at_ = rounded(path.moves.front().from - words_.origin_mm);
  }

  void head(const std::vector<std::string>& comments) {
    line("%");
    for (const std::string& comment : comments)
      for (const std::string& one : nc_comments(comment))
        line(one);
    line(inch_ ? "G20 G90 G17 G94" : "G21 G90 G17 G94");
    if (words_.arc_centres)
      line("G91.1");
    if (words_.clears_numbers)
      line("G92.1");
    if (words_.system > 0)
      line(words_.system <= 6 ? fmt::format("G{}", 53 + words_.system)
                              : fmt::format("G59.{}", words_.system - 6));
  }

  void move(const Move& given, int index) {
    const Move move = shifted(given, -1 * words_.origin_mm);
    if (move.kind == MoveKind::tool_change)
      return change(move);
    const bool travels =
        move.kind == MoveKind::rapid || move.kind == MoveKind::line || move.kind == MoveKind::arc;
    if (tool_number_ < 0 && move.tool_number >= 0 && !changed_) { // named, but never changed to
      line(fmt::format("T{}", move.tool_number));
      tool_number_ = move.tool_number;
    }
    spindle(move);
    coolant(move);
    if (travels) {
      length(move);
      mode(move);
      name_axes(move, index);
    }
    switch (move.kind) {
    case MoveKind::stop:
      line("M0");
      meant(move);
      break;
    case MoveKind::dwell:
      if (move.feed_mm_min <= 0)
        break; // the spindle runs up, which its own word has said
      line("G4 P" + trimmed(move.feed_mm_min));
      meant(move);
      break;
    case MoveKind::arc:
      arc(move);
      break;
    default:
      straight(move);
    }
  }

  void end() {
    if (rpm_ != 0)
      line("M5");
    if (coolant_ != 0)
      line("M9");
    line("M30");
    line("%");
  }

  ProgramText out;

private:
  struct Rounded {
    std::array<std::string, 3> words;
    std::array<double, 3> mm{};
  };

  void line(const std::string& words) { out.text += words + "\n"; }
  double read_mm(const std::string& number) const {
    return std::strtod(number.c_str(), nullptr) * (inch_ ? 25.4 : 1);
  }
  Rounded rounded(Vec3 p) const {
    Rounded r;
    const std::array<double, 3> mm = axes(p);
    for (std::size_t a = 0; a < 3; ++a) {
      r.words[a] = nc_number(mm[a], inch_);
      r.mm[a] = read_mm(r.words[a]);
    }
    return r;
  }
  void meant(Move move) {
    move = shifted(move, words_.origin_mm);
    out.meant.push_back(move);
  }

  /// Axes that the program has named by now although they do not move: the cutter may stand elsewhere.
  void name_axes(const Move& move, int index) {
    const Rounded to = rounded(move.to);
    std::string still;
    for (std::size_t a = 0; a < 3; ++a) {
      const bool moves = to.words[a] != at_.words[a];
      const bool due = by_hand_ || (words_.first_named[a] >= 0 && words_.first_named[a] <= index);
      const bool same_line = move.kind == MoveKind::rapid && (by_hand_ || words_.first_line[a] == move.line);
      if (named_[a] || moves || !due || same_line)
        continue;
      still += std::string(" ") + "XYZ"[a] + at_.words[a];
      named_[a] = true;
    }
    if (!still.empty())
      line("G0" + still);
  }

  /// End words that differ from where the tip stands, by what was written, not by what was meant; those of
  /// the bits of `always` in any case. The tip stands there afterwards.
  std::string ends(const Rounded& to, const Move& move, int always = 0) {
    std::string words;
    for (std::size_t a = 0; a < 3; ++a) {
      const bool same_line = move.kind == MoveKind::rapid && !named_[a] &&
                             (by_hand_ || words_.first_line[a] == move.line) &&
                             (by_hand_ || words_.first_named[a] >= 0);
      if (to.words[a] == at_.words[a] && !same_line && !(always & (1 << a)))
        continue;
      words += std::string(" ") + "XYZ"[a] + to.words[a];
      named_[a] = true;
    }
    return words;
  }

  void straight(Move move) {
    const Rounded to = rounded(move.to);
    const bool still = to.words == at_.words;
    const std::string words = ends(to, move);
    if (words.empty())
      return;
    line((move.kind == MoveKind::rapid ? "G0" : "G1") + words +
         (move.kind == MoveKind::rapid ? "" : feed(move)));
    if (!still) {
      move.from = {at_.mm[0], at_.mm[1], at_.mm[2]};
      move.to = {to.mm[0], to.mm[1], to.mm[2]};
      meant(move);
    }
    at_ = to;
  }

  std::string feed(const Move& move) {
    std::string f = " F" + trimmed(inch_ ? move.feed_mm_min / kInch_mm : move.feed_mm_min);
    if (f == feed_)
      return "";
    return feed_ = f;
  }

  void spindle(const Move& move) {
    if (move.spindle_rpm == rpm_)
      return;
    rpm_ = move.spindle_rpm;
    line(rpm_ == 0 ? "M5" : fmt::format("S{} {}", trimmed(std::abs(rpm_)), rpm_ > 0 ? "M3" : "M4"));
  }

  void coolant(const Move& move) {
    if (coolant_ & ~move.coolant)
      line("M9"), coolant_ = 0;
    if (move.coolant & ~coolant_ & kMist)
      line("M7");
    if (move.coolant & ~coolant_ & kFlood)
      line("M8");
    coolant_ = move.coolant;
  }

  void length(const Move& move) {
    const int h = !move.length_on ? 0 : move.tool_number > 0 ? move.tool_number : words_.length_h;
    if (h == length_h_)
      return;
    line(h == 0 ? std::string("G49") : fmt::format("G43 H{}", h));
    length_h_ = h;
  }

  void change(const Move& move) {
    if (move.tool_number < 0)
      return; // a change without a number is none that a control could do
    if (rpm_ != 0) {
      line("M5");
      rpm_ = 0;
    }
    coolant(move);
    if (changed_ && words_.length_h == 0)
      line("(set the zero of the new cutter's tip before going on)");
    line(fmt::format("T{} M6", move.tool_number));
    tool_number_ = move.tool_number;
    changed_ = true;
    meant(move);
  }

  void mode(const Move& move) {
    std::string words = move.corner == CornerMode::exact_stop   ? "G61.1"
                        : move.corner == CornerMode::exact_path ? "G61"
                                                                : "G64";
    if (move.corner == CornerMode::blend && move.blend_um > 0)
      words += " P" + nc_number(1e-3 * move.blend_um, inch_);
    if (words == mode_)
      return;
    if (!(mode_.empty() && words == "G64" && !words_.path_mode)) // the machine's own mode needs no word
      line(words);
    mode_ = words;
  }

  void arc(const Move& move) {
    const double turn = arc_turn_rad(move);
    const int lines = move.full_turns + 1; // a line holds at most one turn
    Move part = move;
    for (int k = 0; k < lines; ++k) {
      const double full = std::copysign(2 * kPi, turn);
      const double rest = turn - move.full_turns * full;
      part.full_turns = 0;
      part.turn_rad = static_cast<float>(k + 1 < lines ? full : rest);
      part.to = k + 1 < lines ? point_at(move, (k + 1) * full / turn) : move.to;
      one_turn(part);
      part.from = part.to;
    }
  }

  void as_line(Move move) {
    move.kind = MoveKind::line;
    straight(move);
  }

  void one_turn(Move move) {
    const double turn = arc_turn_rad(move);
    const auto [first, second] = plane_axes(move.plane);
    const std::array<double, 3> from = axes(move.from);
    if (norm(Vec2{from[first], from[second]} - move.centre) < kLeastRadius_mm)
      return as_line(move);
    const Rounded to = rounded(move.to);
    const std::string i = nc_number(move.centre.x - at_.mm[first], inch_),
                      j = nc_number(move.centre.y - at_.mm[second], inch_);
    const Vec2 start{at_.mm[first], at_.mm[second]}, centre{start.x + read_mm(i), start.y + read_mm(j)};
    const ArcFit fit = arc_by_centre(start, {to.mm[first], to.mm[second]}, centre, turn > 0);
    // Rounded ends may change places: a turn of next to nothing would be read as a whole one, or the reverse.
    if (std::abs(fit.turn_rad - turn) > 0.5 * kPi) {
      if (std::abs(turn) < kPi)
        return as_line(move);
      Move half = move;
      half.to = point_at(move, 0.5);
      half.turn_rad = static_cast<float>(0.5 * turn);
      one_turn(half);
      half.from = half.to, half.to = move.to;
      return one_turn(half);
    }
    static constexpr const char* kPlane[] = {"G17", "G18", "G19"};
    if (plane_ != move.plane)
      line(kPlane[static_cast<std::size_t>(move.plane)]);
    plane_ = move.plane;
    const std::string words = ends(to, move, 1 << first | 1 << second);
    const std::string offset_first = std::string(" ") + "IJK"[first] + i,
                      offset_second = std::string(" ") + "IJK"[second] + j;
    line((turn > 0 ? "G3" : "G2") + words +
         (first < second ? offset_first + offset_second : offset_second + offset_first) + feed(move));
    move.from = {at_.mm[0], at_.mm[1], at_.mm[2]};
    move.to = {to.mm[0], to.mm[1], to.mm[2]};
    move.centre = centre;
    move.turn_rad = static_cast<float>(fit.turn_rad);
    meant(move);
    at_ = to;
  }

  const ProgramWords& words_;
  bool inch_, by_hand_ = false;
  Rounded at_;
  std::array<bool, 3> named_{};
  std::string feed_, mode_;
  float rpm_ = 0;
  std::uint8_t coolant_ = 0;
  int tool_number_ = -1, length_h_ = 0;
  bool changed_ = false;
  ArcPlane plane_ = ArcPlane::xy;
};

} // namespace

std::string nc_number(double mm, bool inch) {
  const int digits = inch ? 5 : 4;
  const double value = inch ? mm / kInch_mm : mm;
  return fmt::format("{:.{}f}", std::abs(value) < 0.5 * std::pow(10, -digits) ? 0.0 : value, digits);
}

std::string nc_comment(const std::string& words) {
  std::string plain;
  bool in_character = false; // after the first byte of a character of several
  for (const char c : words) {
    const auto byte = static_cast<unsigned char>(c);
    if (in_character && byte >= 0x80 && byte < 0xc0)
      continue;
    in_character = byte >= 0xc0;
    if (c == '%')
      plain += "percent";
    else
      plain += c == '(' ? '[' : c == ')' ? ']' : byte < ' ' || byte > '~' ? '?' : c;
  }
  // "(MSG, ...)" and its like are orders to some controls, with or without spaces between the letters.
  std::size_t letters = 0;
  for (char& c : plain) {
    if (c == ',' && letters <= kLongestOrder)
      c = ';';
    if (c != ' ' && c != '_' && !std::isalpha(static_cast<unsigned char>(c)))
      break;
    letters += c != ' ';
  }
  return "(" + plain + ")";
}

std::vector<std::string> nc_comments(const std::string& words) {
  const std::string whole = nc_comment(words), plain = whole.substr(1, whole.size() - 2);
  std::vector<std::string> lines;
  for (std::size_t from = 0; from < plain.size() || lines.empty();) {
    std::size_t to = plain.size();
    if (to - from > kCommentLength - 2) {
      to = plain.rfind(' ', from + kCommentLength - 2);
      if (to == std::string::npos || to <= from)
        to = from + kCommentLength - 2;
    }
    lines.push_back(nc_comment(plain.substr(from, to - from)));
    from = to < plain.size() && plain[to] == ' ' ? to + 1 : to;
  }
  return lines;
}

ProgramText program_text(const Path& path, const std::vector<std::string>& comments) {
  Writer writer(path);
  writer.head(comments);
  for (std::size_t i = 0; i < path.moves.size(); ++i)
    writer.move(path.moves[i], static_cast<int>(i));
  writer.end();
  return std::move(writer.out);
}

} // namespace snagmap
