#include "models/constants.hpp"
#include "sim/program/arc.hpp"
#include "sim/program/interpreter.hpp"

#include <fmt/format.h>

#include <cmath>

namespace snagmap {
namespace {

constexpr double kFarthest_mm = 1e6;
constexpr double kInchTolerance_mm = 0.0002 * kInch_mm;

/// The plane's axes in the order that makes G3 anticlockwise about the third, as Move has it.
struct PlaneAxes {
  int first, second, third;
};
PlaneAxes axes_of(ArcPlane plane) {
  switch (plane) {
  case ArcPlane::zx:
    return {2, 0, 1};
  case ArcPlane::yz:
    return {1, 2, 0};
  case ArcPlane::xy:
    break;
  }
  return {0, 1, 2};
}
const char* plane_name(ArcPlane plane) {
  return plane == ArcPlane::xy ? "G17 (X Y)" : plane == ArcPlane::zx ? "G18 (Z X)" : "G19 (Y Z)";
}
char axis_letter(int axis) {
  return static_cast<char>('X' + axis);
}
char offset_letter(int axis) {
  return static_cast<char>('I' + axis);
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
            length_of_, mounted_),
        fmt::format("write G43 H{}, or give both lengths in the scene ([[tool]] length)", mounted_)};
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
  return {{target(block, X), target(block, Y), target(block, Z)}};
}

Move Interpreter::make_move(MoveKind kind) const {
  Move move;
  move.kind = kind;
  move.from = move.to = {at_[X], at_[Y], at_[Z]};
  move.spindle_rpm = spindle_on_ ? static_cast<float>(anticlockwise_ ? -rpm_ : rpm_) : 0;
  move.line = line_;
  move.tool = tool_;
  move.tool_number = tool_number_;
  move.coolant = coolant_;
  move.length_on = length_of_ != 0;
  move.plane = plane_;
  move.corner = corner_;
  move.blend_um = blend_um_;
  return move;
}

void Interpreter::push(const Move& move) {
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
  if (!spindle_on_ || rpm_ == 0)
    notes_.once("standing spindle", line_, "feed moves begin while the spindle stands");
  if (inverse_time_) {
    if (!block.has('F'))
      throw Refusal{column, "no F on a feed line under G93: inverse time needs it on each line",
                    "write F (1 / minutes of this move), or G94"};
    if (!(block['F'] > 0))
      throw Refusal{block.column_of('F'), "F0 under G93: the move would take for ever",
                    "write F (1 / minutes of this move)"};
    return block['F'] * length_mm;
  }
  if (feed_known_ && feed_mm_min_ > 0)
    return feed_mm_min_;
  if (feed_refused_)
    return 1; // said once
  feed_refused_ = true;
  throw Refusal{column, feed_known_ ? "feed move with feed zero" : "feed move before any feed (F) was set",
                "write F on this line or before"};
}

void Interpreter::motion(const Block& block, bool axes_taken) {
  const bool written = block.has(GroupG::motion);
  const std::uint32_t axes = axes_taken ? 0 : block.present & kAxisLetters;
  const int column = written ? block[GroupG::motion].column : 0;
  if (written)
    motion_ = block[GroupG::motion].code;
  if (block.has(GroupG::one_line) && block[GroupG::one_line].code == 530)
    return in_machine_coordinates(block);
  const bool offsets = block.present & (letter_bit('I') | letter_bit('J') | letter_bit('K'));
  const bool round = motion_ == 20 || motion_ == 30;
  if (axes == 0 && !(round && offsets && !axes_taken)) {
    if (written && motion_ != 800 && !axes_taken)
      throw Refusal{column, fmt::format("{} without axis words: where to?", g_name(motion_)),
                    "write X, Y or Z"};
    return;
  }
  if (motion_ < 0 || motion_ == 800) {
    char letter = 'X';
    while (!block.has(letter))
      ++letter;
    throw Refusal{block.column_of(letter),
                  motion_ < 0 ? "axis words before any motion code"
                              : "axis words under G80, which ends motion",
                  "write G0, G1, G2 or G3"};
  }
  moved_ = true;
  switch (motion_) {
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

void Interpreter::straight(const Block& block, bool rapid) {
  const Offset to = targets(block);
  if (rapid)
    return go(MoveKind::rapid, to, 0);
  const double dx = to[X] - at_[X], dy = to[Y] - at_[Y], dz = to[Z] - at_[Z];
  const int column = block.has(GroupG::motion) ? block[GroupG::motion].column : 1;
  const double length = inverse_time_ ? std::sqrt(dx * dx + dy * dy + dz * dz) : 0;
  go(MoveKind::line, to, feed_for(block, length, column));
}

void Interpreter::arc(const Block& block, bool anticlockwise) {
  const auto [first, second, third] = axes_of(plane_);
  const int column = block.has(GroupG::motion) ? block[GroupG::motion].column : 1;
  const char* name = anticlockwise ? "G3" : "G2";
  if (block.has(offset_letter(third)))
    throw Refusal{
        block.column_of(offset_letter(third)),
        fmt::format("{} is no offset of plane {}", offset_letter(third), plane_name(plane_)),
        fmt::format("use {} and {}, or change the plane", offset_letter(first), offset_letter(second))};
  const bool offsets = block.has(offset_letter(first)) || block.has(offset_letter(second));
  const bool ends = block.has(axis_letter(first)) || block.has(axis_letter(second));
  if (offsets && block.has('R'))
    throw Refusal{block.column_of('R'),
                  fmt::format("{} with R and with offsets: two ways of one circle", name), "keep one"};
  if (!offsets && !block.has('R'))
    throw Refusal{column, fmt::format("{} with neither R nor offsets: which circle?", name),
                  fmt::format("write R, or {} and {}", offset_letter(first), offset_letter(second))};
  if (!offsets && !ends)
    throw Refusal{column, fmt::format("{} with R and no end in plane {}", name, plane_name(plane_)),
                  fmt::format("write {} or {}", axis_letter(first), axis_letter(second))};
  if (!ends)
    notes_.once("full circle", line_,
                fmt::format("{} without {} and {}: read as a full circle, as many controls do", name,
                            axis_letter(first), axis_letter(second)));
  used_ |= letter_bit(offset_letter(first)) | letter_bit(offset_letter(second)) | letter_bit('R');

  const bool unsure = lost_ & (1u << first | 1u << second);
  const Offset to = targets(block);
  const Vec2 start{at_[first], at_[second]}, end{to[first], to[second]};
  if (unsure) { // an earlier fault: the start is a guess, so is any complaint
    at_ = to;
    return;
  }
  const double tolerance =
      scale_ > 1 ? std::max(options_.arc_tolerance_mm, kInchTolerance_mm) : options_.arc_tolerance_mm;
  ArcFit fit;
  if (offsets) {
    const auto centre_of = [&](int axis) {
      const char letter = offset_letter(axis);
      const double value = block.has(letter) ? block[letter] * scale_ : 0;
      if (!arc_centre_absolute_)
        return at_[axis] + value;
      return block.has(letter) ? value + shift_[axis] : at_[axis];
    };
    const Vec2 centre{centre_of(first), centre_of(second)};
    const int at =
        block.column_of(block.has(offset_letter(first)) ? offset_letter(first) : offset_letter(second));
    if (!(norm(centre - start) <= kFarthest_mm))
      throw Refusal{at, "arc with a radius of more than 1 km", "check the offsets and the units"};
    fit = arc_by_centre(start, end, centre, anticlockwise);
    if (norm(centre - start) == 0 || norm(centre - end) == 0)
      throw Refusal{at, fmt::format("{} with radius zero", name), "check the offsets"};
    if (!(fit.mismatch_mm <= tolerance)) {
      at_ = to;
      throw Refusal{
          at,
          fmt::format("{} does not meet its end: radius {:.6f} mm at the start, {:.6f} mm at the end, "
                      "mismatch {:.6f} mm over {:.6f} mm",
                      name, norm(centre - start), norm(centre - end), fit.mismatch_mm, tolerance),
          "post with more decimals, or allow a looser arc_tolerance in the scene's [program]"};
    }
  } else {
    const double radius = block['R'] * scale_;
    if (!(std::abs(radius) <= kFarthest_mm))
      throw Refusal{block.column_of('R'), "arc with a radius of more than 1 km", "check R and the units"};
    if (start.x == end.x && start.y == end.y)
      throw Refusal{block.column_of('R'),
                    fmt::format("{} with R ends where it starts: no one circle fits", name),
                    "write the full circle with offsets"};
    fit = arc_by_radius(start, end, radius, anticlockwise);
    if (!(fit.mismatch_mm <= tolerance) || radius == 0) {
      at_ = to;
      throw Refusal{
          block.column_of('R'),
          fmt::format("R{:.10g} is too small to reach the end: half the chord is {:.6f} mm, {:.6f} mm more",
                      block['R'], 0.5 * norm(end - start), fit.mismatch_mm),
          "check R and the end, or allow a looser arc_tolerance in the scene's [program]"};
    }
  }
  if (fit.mismatch_mm > worst_mismatch_mm_) {
    worst_mismatch_mm_ = fit.mismatch_mm;
    worst_mismatch_line_ = line_;
  }
  Move move = make_move(MoveKind::arc);
  move.to = {to[X], to[Y], to[Z]};
  move.centre = fit.centre;
  move.turn_rad = static_cast<float>(fit.turn_rad);
  const double length = inverse_time_ ? length_mm(move) : 0;
  move.feed_mm_min = static_cast<float>(feed_for(block, length, column));
  at_ = to;
  push(move);
}

/// G53: this line in machine coordinates, whatever offsets and distance mode are in force.
void Interpreter::in_machine_coordinates(const Block& block) {
  const int column = block[GroupG::one_line].column;
  if (motion_ != 0 && motion_ != 10)
    throw Refusal{column, "G53 without G0 or G1", "write G53 G0 and the axis words"};
  if ((block.present & kAxisLetters) == 0)
    throw Refusal{column, "G53 without axis words: where to?", "write X, Y or Z"};
  if (!options_.machine_zero_mm)
    notes_.once("machine zero", line_,
                "G53: the machine's zero is not given and is taken as the start place {}", options_.start_mm);
  restore("machine coordinates",
          "G53 goes to a place of the machine: here it is a move to the place where the "
          "scene has it, or where the tip starts; write the G53 line again");
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
