// Where programmed numbers lie in the sheet: work systems, G92, tool length, and the way home.
#include "sim/program/interpreter.hpp"

#include <fmt/format.h>

#include <cmath>

namespace snagmap {
namespace {

constexpr int kFirstSystem = 5221, kSystemStep = 20, kActiveSystem = 5220, kNumbers = 5211, kHome = 5161,
              kSecondHome = 5181;

double part(const Vec3& v, int axis) {
  return axis == 0 ? v.x : axis == 1 ? v.y : v.z;
}

} // namespace

void Interpreter::update_shift() {
  for (int axis = 0; axis < 3; ++axis)
    shift_[axis] = origin_[axis] + numbers_[axis];
  length_unsure_ = false;
  if (length_of_ == 0 || length_of_ == mounted_ || mounted_ < 0)
    return;
  const auto in_force = options_.tool_length_mm.find(length_of_),
             real = options_.tool_length_mm.find(mounted_);
  const bool known = in_force != options_.tool_length_mm.end() && real != options_.tool_length_mm.end();
  length_unsure_ = !known;
  if (known)
    shift_[Z] += in_force->second - real->second;
}

void Interpreter::set_length(const Block& block, int code) {
  if (code == 490) {
    if (length_of_ != 0 && length_ever_)
      notes_.once("G49", line_, "G49 ends the tool length: Z is still read as the height of the tip");
    length_of_ = 0;
    return update_shift();
  }
  if (!block.has('H'))
    throw Refusal{block[GroupG::length].column, "G43 without H: which tool's length?", "write G43 H1"};
  used_ |= letter_bit('H');
  const int h = whole(block, 'H', 999999);
  if (mounted_ < 0)
    mounted_ = picked_;
  if (h != 0 && mounted_ < 0)
    notes_.once("H before T", line_,
                fmt::format("G43 H{} before any T is taken as the length of the cutter in use", h));
  else if (h != 0 && h != mounted_) {
    notes_.once("H not T", line_,
                fmt::format("G43 H{} corrects tool {} by the length of another", h, mounted_));
    restore("H not T", fmt::format("G43 H{} for tool {} is written as H{}, the tool's own length", h,
                                   mounted_, mounted_));
  }
  length_of_ = h;
  length_ever_ = length_ever_ || h != 0;
  if (path_.words.length_h == 0)
    path_.words.length_h = h;
  update_shift();
}

void Interpreter::select_system(int system, int column) {
  const unsigned bit = 1u << system;
  if ((known_systems_ & bit) == 0) {
    if (moved_)
      throw Refusal{
          column,
          fmt::format("work system {} ({}): its origin is not known", system,
                      system <= 6 ? fmt::format("G{}", 53 + system) : fmt::format("G59.{}", system - 6)),
          "give it in the scene ([program] origins), or use one work system"};
    // The first system used is the sheet's; the others are then unknown.
    known_systems_ = (known_systems_ & ~(1u << system_)) | bit;
    notes_.once("first system", line_,
                fmt::format("work system {} is the first used: its origin is the sheet's zero", system));
  }
  system_ = system;
  const int row = kFirstSystem + kSystemStep * (system - 1);
  for (int axis = 0; axis < 3; ++axis)
    origin_[axis] = parameters_->value[row + axis] + part(machine_zero_, axis);
  parameters_->value[kActiveSystem] = system;
  update_shift();
}

void Interpreter::one_line_code(const Block& block, int code) {
  if (code == 921 && !moved_)
    path_.words.clears_numbers = true;
  if (code == 920 || code == 922 || code == 923)
    restore("G92", fmt::format("{} is not written: set the work offset to the sheet's zero and clear G92 "
                               "(G92.1) before this program",
                               g_name(code)));
  if (code == 280 || code == 300)
    restore("home", fmt::format("{} goes to a place of the machine: here it is a move to the place where the "
                                "scene has it, or where the tip starts; write the {} line again",
                                g_name(code), g_name(code)));
  switch (code) {
  case 100:
    return set_origin(block);
  case 280:
  case 300:
    return go_home(block, code);
  case 920:
    return set_numbers(block);
  case 921:
  case 922:
    if (path_.touch_off_line > 0)
      notes_.once(
          "G92.1", line_,
          fmt::format("{} takes back the G92 of line {}, which placed the zero: the numbers before it "
                      "are not known, so the zero is taken to stay",
                      g_name(code), path_.touch_off_line));
    numbers_ = {};
    if (code == 921)
      for (int axis = 0; axis < 3; ++axis)
        parameters_->value[kNumbers + axis] = 0;
    return update_shift();
  case 923:
    for (int axis = 0; axis < 3; ++axis)
      numbers_[axis] = parameters_->value[kNumbers + axis];
    return update_shift();
  default:
    return;
  }
}

/// G10 L2 Pn: origin of a work system in machine coordinates.
void Interpreter::set_origin(const Block& block) {
  const int column = block[GroupG::one_line].column;
  used_ |= letter_bit('L') | letter_bit('P') | (block.present & kAxisLetters);
  if (!block.has('L') || block['L'] != 2)
    throw Refusal{column, "G10 without L2: only the setting of work origins is in the standard",
                  "write G10 L2 P1 X.. Y.. Z.."};
  const int system = block.has('P') ? whole(block, 'P', 9) : 0;
  if (system == 0)
    throw Refusal{column, "G10 L2 without P from 1 to 9: which work system?", "write G10 L2 P1 for G54"};
  if (!options_.machine_zero_mm)
    throw Refusal{
        column, "G10 sets an origin in machine coordinates, and the place of the machine's zero is not given",
        "give it in the scene ([program] machine_zero), or set the origin at the machine and drop G10"};
  const int row = kFirstSystem + kSystemStep * (system - 1);
  for (int axis = 0; axis < 3; ++axis)
    if (block.has(static_cast<char>('X' + axis)))
      parameters_->value[row + axis] = block[static_cast<char>('X' + axis)] * scale_;
  known_systems_ |= 1u << system;
  restore("G10", fmt::format("G10 L2 P{} is not written: set that work offset at the machine", system));
  notes_.once("G10", line_,
              fmt::format("G10 moves the origin of work system {}; the sheet stays where it is", system));
  if (system == system_)
    select_system(system, column);
}

/// A G92 on an axis whose place nothing has said yet: somebody has set the tip down there, so the tip stands
/// where the number says. What moved along this axis before moved by steps, and is shifted with it.
void Interpreter::touch_off(int axis, double number_mm) {
  const double by = number_mm + shift_[axis] - at_[axis];
  const auto shift = [&](Vec3& p) { (axis == X ? p.x : axis == Y ? p.y : p.z) += by; };
  for (Move& move : path_.moves) {
    shift(move.from);
    shift(move.to);
    if (move.kind != MoveKind::arc)
      continue;
    const int first = move.plane == ArcPlane::xy ? X : move.plane == ArcPlane::zx ? Z : Y;
    const int second = move.plane == ArcPlane::xy ? Y : move.plane == ArcPlane::zx ? X : Z;
    if (axis == first)
      move.centre.x += by;
    if (axis == second)
      move.centre.y += by;
  }
  at_[axis] += by;
  start_[axis] += by;
  if (homed_)
    for (const int home : {kHome, kSecondHome})
      parameters_->value[home + axis] += by;
  placed_ |= 1u << axis;
  if (path_.touch_off_line == 0)
    path_.touch_off_line = line_;
}

/// G92: the present place is called by these numbers, in every work system.
void Interpreter::set_numbers(const Block& block) {
  if ((block.present & kAxisLetters) == 0)
    throw Refusal{block[GroupG::one_line].column, "G92 without axis words: which numbers?",
                  "write G92 X0 Y0, or G92.1 to clear"};
  used_ |= block.present & kAxisLetters;
  bool shifts = false;
  for (int axis = 0; axis < 3; ++axis) {
    const char letter = static_cast<char>('X' + axis);
    if (!block.has(letter))
      continue;
    if ((placed_ & (1u << axis)) == 0) {
      touch_off(axis, block[letter] * scale_);
      continue;
    }
    shifts = true;
    const double without = shift_[axis] - numbers_[axis];
    numbers_[axis] = at_[axis] - block[letter] * scale_ - without;
    parameters_->value[kNumbers + axis] = numbers_[axis];
  }
  if (path_.touch_off_line == line_)
    notes_.once("touch off", line_,
                "G92 is taken as touching off, since the start is not given: the tip stands at {} from the "
                "sheet's zero",
                Vec3{at_[X], at_[Y], at_[Z]});
  if (shifts)
    notes_.once("G92", line_, "G92 names the present place, which is {} from the sheet's zero",
                Vec3{at_[X], at_[Y], at_[Z]});
  update_shift();
}

/// G28 and G30: a rapid through the given point, then the named axes (all when none is named) go home.
void Interpreter::go_home(const Block& block, int code) {
  const unsigned named = block.present & kAxisLetters;
  const Offset through = targets(block);
  moved_ = true;
  if (named)
    go(MoveKind::rapid, through, 0);
  const int first = code == 280 ? kHome : kSecondHome;
  const bool known = options_.home_mm || (code == 300 && options_.second_home_mm);
  homed_ = homed_ || !known;
  Offset home = at_;
  for (int axis = 0; axis < 3; ++axis)
    if (named == 0 || block.has(static_cast<char>('X' + axis))) {
      home[axis] = parameters_->value[first + axis] + part(machine_zero_, axis);
      placed_ |= known ? 1u << axis : 0u;
    }
  if (!known)
    notes_.once("home", line_, g_name(code) + ": home is not given and is taken as {}", options_.start_mm);
  if (named != 0 && named != kAxisLetters)
    notes_.once("home axes", line_, fmt::format("{}: only the axes named go home", g_name(code)));
  go(MoveKind::rapid, home, 0);
}

} // namespace snagmap
