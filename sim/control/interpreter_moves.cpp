#include "sim/control/interpreter.hpp"

#include <fmt/format.h>

#include <cmath>

namespace snagmap {
namespace {

constexpr double kFarthest_mm = 1e6, kDegree = 0.017453292519943295769;
constexpr std::uint32_t kPolar = letter_bit(Block::kRadius) | letter_bit(Block::kAngle);

char axis_letter(int axis) {
  return static_cast<char>('X' + axis);
}

} // namespace

double Interpreter::target(const Block& block, int axis) {
  const char letter = axis_letter(axis);
  if (!block.has(letter))
    return at_[axis];
  if (axis == Z && length_unsure_ && !incremental_)
    throw Refusal{
        block.column_of(letter),
        fmt::format(
            "Z with the length of tool {} in force (G43) and tool {} in the spindle: their lengths are "
            "not both given",
            length_of_, mounted_.value_or(0)),
        fmt::format("write G43 H{}, or give both lengths in the scene ([[tool]] length)",
                    mounted_.value_or(0))};
  const double value = block[letter] * scale_;
  if (!incremental_)
    placed_ |= 1u << axis;
  const double place = incremental_ ? at_[axis] + value : value + shift_[axis];
  if (!(std::abs(place) <= kFarthest_mm))
    throw Refusal{block.column_of(letter),
                  fmt::format("{}{:.10g} is more than 1 km from the sheet", letter, block[letter]),
                  "check the number, its decimal point and the units"};
  if (!incremental_)
    lost_ &= ~(1u << axis);
  return place;
}

/// What was in force when the first axis words came, and before which move each axis was first named: a
/// program written from the path must say both, though a first word may move nothing.
void Interpreter::first_words(const Block& block) {
  ProgramWords& words = path_.words;
  if (words.first_named[X] < 0 && words.first_named[Y] < 0 && words.first_named[Z] < 0) {
    words.system = system_named_ ? system_ : 0;
    words.origin_mm = {origin_[X], origin_[Y], origin_[Z]};
  }
  for (int axis = 0; axis < 3; ++axis)
    if (words.first_named[axis] < 0 && block.has(axis_letter(axis)) && !incremental_) {
      words.first_named[axis] = static_cast<int>(path_.moves.size());
      words.first_line[axis] = line_;
    }
}

Interpreter::Offset Interpreter::targets(const Block& block) {
  used_ |= block.present & kAxisLetters;
  first_words(block);
  Offset to{{target(block, X), target(block, Y), target(block, Z)}};
  if (block.present & kPolar)
    polar(block, to);
  return to;
}

/// @ and ^: distance and angle in degrees from the work zero, in the plane X Y; what is left out stays as it
/// is. Under G91 both are added to what they were (LinuxCNC, G-code overview, Polar Coordinates).
void Interpreter::polar(const Block& block, Offset& to) {
  const char first = block.has(Block::kRadius) ? Block::kRadius : Block::kAngle;
  if (plane_ != ArcPlane::xy)
    throw Refusal{block.column_of(first), "polar words outside plane G17 (X Y)", "write G17, or X Y Z words"};
  if (block.has('X') || block.has('Y'))
    throw Refusal{block.column_of(first), "polar words beside X or Y: two ways of one place", "keep one"};
  used_ |= block.present & kPolar;
  if (!incremental_)
    placed_ |= 3;
  const Vec2 from{at_[X] - shift_[X], at_[Y] - shift_[Y]};
  double radius = norm(from), angle = std::atan2(from.y, from.x);
  if (block.has(Block::kRadius))
    radius = block[Block::kRadius] * scale_ + (incremental_ ? radius : 0);
  if (block.has(Block::kAngle))
    angle = block[Block::kAngle] * kDegree + (incremental_ ? angle : 0);
  if (!(std::abs(radius) <= kFarthest_mm) || !std::isfinite(angle))
    throw Refusal{block.column_of(first), "polar words reach more than 1 km from the sheet",
                  "check the numbers and the units"};
  to[X] = shift_[X] + radius * std::cos(angle);
  to[Y] = shift_[Y] + radius * std::sin(angle);
}

Move Interpreter::make_move(MoveKind kind) const {
  Move move;
  move.kind = kind;
  move.from = compensation_.on() ? Vec3{at_[X], at_[Y], at_[Z]} : tip_;
  move.to = move.from;
  move.spindle_rpm = spindle_on_ ? static_cast<float>(anticlockwise_ ? -rpm_ : rpm_) : 0;
  move.line = line_;
  move.tool = tool_;
  move.tool_number = tool_number_.value_or(-1);
  move.coolant = coolant_;
  move.length_on = length_of_ != 0;
  move.plane = plane_;
  move.corner = corner_;
  move.blend_um = blend_um_;
  return move;
}

void Interpreter::push(const Move& move) {
  if (compensation_.on()) {
    if (failed_ && (lost_ & 3) != 0)
      return; // the contour is a guess, so is any complaint
    certain_.clear();
    compensation_.add(move, 1, certain_);
    for (const Move& own : certain_)
      push_as_it_is(own);
    return;
  }
  push_as_it_is(move);
}

void Interpreter::push_as_it_is(const Move& move) {
  tip_ = move.to;
  if (failed_)
    return; // no path will come of it: only the further faults are of use
  if (path_.moves.size() >= most_moves_) {
    full_ = true;
    throw Refusal{1, "the path does not fit", "split the program"};
  }
  path_.moves.push_back(move);
}

void Interpreter::go(MoveKind kind, const Offset& to, double feed_mm_min) {
  Move move = make_move(kind);
  move.to = {to[X], to[Y], to[Z]};
  move.feed_mm_min = static_cast<float>(feed_mm_min);
  at_ = to;
  const bool still = move.to.x == move.from.x && move.to.y == move.from.y && move.to.z == move.from.z;
  if (!still)
    push(move);
}

void Interpreter::stand(MoveKind kind, double seconds) {
  Move move = make_move(kind);
  move.feed_mm_min = static_cast<float>(seconds);
  push(move);
}

/// The feed of a cutting move in mm/min; under inverse time it follows from the move's length.
double Interpreter::feed_for(const Block& block, double length_mm, int column) {
  if (empty_spindle_)
    throw Refusal{column, "feed move with no cutter: T0 M6 has emptied the spindle",
                  "change to a tool first"};
  if (inverse_time_) {
    if (!block.has('F'))
      throw Refusal{column, "no F on a feed line under G93: inverse time needs it on each line",
                    "write F (1 / minutes of this move), or G94"};
    if (!(block['F'] > 0))
      throw Refusal{block.column_of('F'), "F0 under G93: the move would take for ever",
                    "write F (1 / minutes of this move)"};
    return block['F'] * length_mm;
  }
  if (feed_known_ && feed_mm_min_ > 0) {
    if (!feed_per_turn_)
      return feed_mm_min_;
    if (!spindle_on_ || rpm_ == 0)
      throw Refusal{column, "feed per turn (G95) while the spindle stands: the move would take for ever",
                    "start the spindle with S and M3, or write G94"};
    return feed_mm_min_ * rpm_;
  }
  if (feed_refused_)
    return 1; // said once
  feed_refused_ = true;
  throw Refusal{column, feed_known_ ? "feed move with feed zero" : "feed move before any feed (F) was set",
                "write F on this line or before"};
}

void Interpreter::motion(const Block& block, bool axes_taken) {
  const bool written = block.has(GroupG::motion);
  const std::uint32_t axes = axes_taken ? 0 : block.present & (kAxisLetters | kPolar);
  const int column = written ? block[GroupG::motion].column : 0;
  if (block.ends_cycle)
    cycle_ = {};
  if (written)
    motion_ = block[GroupG::motion].code;
  if (motion_ && *motion_ <= 30)
    plain_motion_ = motion_;
  if (block.has(GroupG::one_line) && block[GroupG::one_line].code == 530)
    return in_machine_coordinates(block);
  const bool offsets = block.present & (letter_bit('I') | letter_bit('J') | letter_bit('K'));
  const bool round = motion_ == 20 || motion_ == 30;
  if (axes == 0 && !(round && offsets && !axes_taken)) {
    if (written && motion_ != 800 && !axes_taken) {
      if (motion_ > 10)
        throw Refusal{column, fmt::format("{} without axis words: where to?", g_name(*motion_)),
                      "write X, Y or Z"};
      // LinuxCNC takes it for a move to where the tip stands, GRBL (gcode.c, step 3) sets the mode only.
      remark(RemarkKind::motion_without_axes, {g_name(*motion_)});
    }
    return;
  }
  if (!motion_ || motion_ == 800)
    motion_ = motion_unsaid(block);
  moved_ = true;
  switch (*motion_) {
  case 0:
    return straight(block, true);
  case 10:
    return straight(block, false);
  case 20:
    return arc(block, false);
  case 30:
    return arc(block, true);
  default:
    return cycle(block);
  }
}

/// The motion of axis words that no motion code rules, where a control knows one.
int Interpreter::motion_unsaid(const Block& block) {
  char letter = 'X';
  while (letter <= Block::kAngle && !block.has(letter))
    ++letter;
  if (motion_ == 800) {
    if (options_.dialect != Dialect::either || !plain_motion_ || *plain_motion_ > 10)
      throw Refusal{block.column_of(letter), "axis words under G80, which ends motion",
                    "write G0 or G1 before them"};
    remark(RemarkKind::axes_after_cycle, {g_name(*plain_motion_)});
    return *plain_motion_;
  }
  if (options_.dialect == Dialect::linuxcnc)
    throw Refusal{block.column_of(letter), "axis words before any motion code", "write G0, G1, G2 or G3"};
  remark(RemarkKind::motion_at_start);
  return 0;
}

void Interpreter::straight(const Block& block, bool rapid) {
  const Offset to = targets(block);
  if (rapid)
    return go(MoveKind::rapid, to, 0);
  const double dx = to[X] - at_[X], dy = to[Y] - at_[Y], dz = to[Z] - at_[Z];
  const int column = block.has(GroupG::motion) ? block[GroupG::motion].column : 1;
  const double length = inverse_time_ ? std::sqrt(dx * dx + dy * dy + dz * dz) : 0;
  cut_ = true;
  go(MoveKind::line, to, feed_for(block, length, column));
}

/// G53: this line in machine coordinates, whatever offsets and distance mode are in force.
void Interpreter::in_machine_coordinates(const Block& block) {
  const int column = block[GroupG::one_line].column;
  if (motion_ != 0 && motion_ != 10)
    throw Refusal{column, "G53 without G0 or G1", "write G53 G0 and the axis words"};
  if ((block.present & kAxisLetters) == 0)
    throw Refusal{column, "G53 without axis words: where to?", "write X, Y or Z"};
  if (!options_.machine_zero_mm && !machine_zero_told_)
    remark(RemarkKind::machine_zero_assumed, {}, options_.start_mm);
  Interpreter::restore(RemarkKind::machine_place, {"G53"});
  const Offset shift = shift_;
  const bool incremental = incremental_, unsure = length_unsure_;
  length_unsure_ = false;
  shift_ = {{machine_zero_.x, machine_zero_.y, machine_zero_.z}};
  incremental_ = false;
  moved_ = true;
  const auto restore = [&] {
    shift_ = shift;
    incremental_ = incremental;
    length_unsure_ = unsure;
  };
  try {
    straight(block, motion_ == 0);
  } catch (...) {
    restore();
    throw;
  }
  restore();
}

} // namespace snagmap
