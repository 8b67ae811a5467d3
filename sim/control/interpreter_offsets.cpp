// Where programmed numbers lie in the sheet: work systems, G92, tool length, and the way home.
#include "sim/control/interpreter.hpp"

#include <fmt/format.h>

#include <algorithm>
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
  if (length_of_ == 0 || length_of_ == mounted_ || !mounted_)
    return;
  const auto in_force = lengths_mm_.find(length_of_), real = lengths_mm_.find(*mounted_);
  const bool known = in_force != lengths_mm_.end() && real != lengths_mm_.end();
  length_unsure_ = !known;
  if (known)
    shift_[Z] += in_force->second - real->second;
}

void Interpreter::set_length(const Block& block, int code) {
  if (code == 490) {
    if (length_of_ != 0 && length_ever_)
      remark(RemarkKind::length_off);
    length_of_ = 0;
    return update_shift();
  }
  if (!mounted_)
    mounted_ = picked_;
  if (!block.has('H')) // LinuxCNC, G-code reference, G43
    remark(RemarkKind::length_without_h);
  used_ |= letter_bit('H');
  const int h = block.has('H') ? whole(block, 'H', 999999) : mounted_.value_or(0);
  if (h != 0 && !mounted_)
    remark(RemarkKind::length_before_tool, {fmt::format("G43 H{}", h)});
  else if (h != 0 && h != mounted_) {
    const std::string tool = std::to_string(*mounted_);
    remark(RemarkKind::length_of_another, {fmt::format("G43 H{}", h), tool});
    restore(RemarkKind::own_length_written, {fmt::format("G43 H{}", h), tool, "H" + tool});
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
    remark(RemarkKind::first_system, {std::to_string(system)});
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
    restore(RemarkKind::zero_not_written, {g_name(code)});
  if (code == 280 || code == 300)
    restore(RemarkKind::machine_place, {g_name(code)});
  switch (code) {
  case 100:
    return set_origin(block);
  case 520:
    return local_origin(block);
  case 280:
  case 300:
    return go_home(block, code);
  case 281:
  case 301:
    return store_home(code);
  case 920:
    return set_numbers(block);
  case 921:
  case 922:
    if (path_.touch_off_line > 0)
      remark(RemarkKind::zero_stays, {g_name(code), std::to_string(path_.touch_off_line)});
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

/// G10 L1, L2 and L20: a tool's length and radius, and the origin of a work system.
void Interpreter::set_origin(const Block& block) {
  const int column = block[GroupG::one_line].column;
  used_ |= letter_bit('L') | letter_bit('P') | (block.present & kAxisLetters);
  const double l = block.has('L') ? block['L'] : 0;
  if (l == 1)
    return set_tool(block);
  if (l != 2 && l != 20)
    throw Refusal{column,
                  block.has('L')
                      ? fmt::format("G10 L{:.10g}: tool tables and settings of the machine are not read", l)
                      : "G10 without L: of what kind is it?",
                  "G10 L1 sets a tool, G10 L2 and L20 a work origin"};
  if (block.has('R'))
    throw Refusal{block.column_of('R'),
                  fmt::format("G10 L{:.10g} with R turns the work system, which is not read", l),
                  "post the program without turning its coordinates"};
  if (!block.has('P'))
    throw Refusal{column, fmt::format("G10 L{:.10g} without P: which work system?", l),
                  fmt::format("write G10 L{:.10g} P1 for G54", l)};
  int system = whole(block, 'P', 9);
  if (system == 0) // LinuxCNC, G-code reference, G10 L2: the one in force
    system = system_;
  const int row = kFirstSystem + kSystemStep * (system - 1);
  bool named_place = false;
  if (l == 20) {
    for (int axis = 0; axis < 3; ++axis)
      if (const char letter = static_cast<char>('X' + axis); block.has(letter)) {
        if (system == system_ && (placed_ & (1u << axis)) == 0) {
          touch_off(axis, block[letter] * scale_);
          continue;
        }
        named_place = true;
        const double length = shift_[axis] - origin_[axis] - numbers_[axis];
        parameters_->value[static_cast<std::size_t>(row + axis)] =
            at_[axis] - block[letter] * scale_ - numbers_[axis] - length - part(machine_zero_, axis);
      }
    if (path_.touch_off_line == line_)
      note_touch_off("G10 L20");
    if (named_place)
      remark(RemarkKind::place_named, {"G10 L20"}, Vec3{at_[X], at_[Y], at_[Z]});
  } else {
    // Before any move the sheet's zero is the origin of the system in force, wherever that lies in the
    // machine: setting it tells where the machine's zero is.
    const bool tells = (!options_.machine_zero_mm || options_.any_tool) && !moved_ && system == system_;
    if (!options_.machine_zero_mm && !tells && !machine_zero_told_)
      throw Refusal{
          column,
          "G10 sets an origin in machine coordinates, and the place of the machine's zero is not given",
          "give it in the scene ([program] machine_zero), or set the origin at the machine and drop G10"};
    for (int axis = 0; axis < 3; ++axis)
      if (const char letter = static_cast<char>('X' + axis); block.has(letter)) {
        const double value = block[letter] * scale_;
        if (tells)
          tell_machine_zero(axis, origin_[axis] - value);
        parameters_->value[static_cast<std::size_t>(row + axis)] = value;
      }
    machine_zero_told_ = machine_zero_told_ || tells;
    remark(tells ? RemarkKind::origin_is_zero : RemarkKind::origin_moved, {std::to_string(system)});
  }
  known_systems_ |= 1u << system;
  restore(RemarkKind::origin_not_written, {fmt::format("G10 L{:.10g} P{}", l, system)});
  if (system == system_)
    select_system(system, column);
}

/// A G92 or G10 L20 on an axis whose place nothing has said yet: somebody has set the tip down there, so the
/// tip stands where the number says. What moved along this axis before moved by steps, and is shifted with
/// it.
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
  shift(tip_);
  start_[axis] += by;
  const bool guessed = homed_ && !options_.home_mm;
  if (home_stored_ || guessed)
    parameters_->value[static_cast<std::size_t>(kHome + axis)] += by;
  if (second_home_stored_ || (guessed && !options_.second_home_mm))
    parameters_->value[static_cast<std::size_t>(kSecondHome + axis)] += by;
  placed_ |= 1u << axis;
  if (path_.touch_off_line == 0)
    path_.touch_off_line = line_;
}

/// The machine's zero is found to lie elsewhere: what was given in the sheet's coordinates stays there.
void Interpreter::tell_machine_zero(int axis, double place_mm) {
  double& zero = axis == 0 ? machine_zero_.x : axis == 1 ? machine_zero_.y : machine_zero_.z;
  const double moved = place_mm - zero;
  zero = place_mm;
  for (const int first : {5161, 5181})
    parameters_->value[static_cast<std::size_t>(first + axis)] -= moved;
  for (int system = 0; system < 9; ++system)
    parameters_->value[static_cast<std::size_t>(kFirstSystem + kSystemStep * system + axis)] -= moved;
}

/// G10 L1 Pn Z R: length and radius of a tool, for G43 and for G41 and G42.
void Interpreter::set_tool(const Block& block) {
  used_ |= letter_bit('R');
  const int column = block[GroupG::one_line].column;
  if (!block.has('P'))
    throw Refusal{column, "G10 L1 without P: which tool?", "write G10 L1 P1"};
  for (const char letter : {'X', 'Y'})
    if (block.has(letter) && block[letter] != 0)
      throw Refusal{block.column_of(letter),
                    "G10 L1 with X or Y: a tool beside the spindle's axis is not read", "give Z and R only"};
  const int tool = whole(block, 'P', 999999);
  if (block.has('Z'))
    lengths_mm_[tool] = block['Z'] * scale_;
  if (block.has('R')) {
    if (!(std::abs(block['R'] * scale_) <= 1000))
      throw Refusal{block.column_of('R'), "a cutter's radius of more than 1 m", "check R and the units"};
    radii_mm_[tool] = std::abs(block['R'] * scale_);
  }
  restore(RemarkKind::tool_not_written, {fmt::format("G10 L1 P{}", tool)});
  remark(RemarkKind::tool_set, {std::to_string(tool)});
  update_shift();
}

/// G52: the work zero moved by these numbers; it shares its place with G92 (LinuxCNC, G-code reference, G52).
void Interpreter::local_origin(const Block& block) {
  if ((block.present & kAxisLetters) == 0)
    throw Refusal{block[GroupG::one_line].column, "G52 without axis words: moved by how much?",
                  "write G52 X0 Y0 Z0 to end it"};
  used_ |= block.present & kAxisLetters;
  for (int axis = 0; axis < 3; ++axis)
    if (const char letter = static_cast<char>('X' + axis); block.has(letter)) {
      numbers_[axis] = block[letter] * scale_;
      parameters_->value[static_cast<std::size_t>(kNumbers + axis)] = numbers_[axis];
    }
  restore(RemarkKind::zero_move_not_written, {"G52"});
  remark(RemarkKind::zero_moved);
  update_shift();
}

void Interpreter::note_touch_off(const char* code) {
  remark(RemarkKind::touched_off, {code}, Vec3{at_[X], at_[Y], at_[Z]});
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
    note_touch_off("G92");
  if (shifts)
    remark(RemarkKind::place_named, {"G92"}, Vec3{at_[X], at_[Y], at_[Z]});
  update_shift();
}

/// G28.1 and G30.1: home is where the tip stands (LinuxCNC, G-code reference, G28; GRBL, gcode.c, step 3).
void Interpreter::store_home(int code) {
  const int first = code == 281 ? kHome : kSecondHome;
  for (int axis = 0; axis < 3; ++axis)
    parameters_->value[static_cast<std::size_t>(first + axis)] = at_[axis] - part(machine_zero_, axis);
  (code == 281 ? home_stored_ : second_home_stored_) = true;
  restore(RemarkKind::home_not_written, {g_name(code)});
  remark(RemarkKind::home_stored, {g_name(code)}, Vec3{at_[X], at_[Y], at_[Z]});
}

/// G28 and G30: a rapid through the given point, then the named axes (all when none is named) go home.
void Interpreter::go_home(const Block& block, int code) {
  const unsigned named = (block.present | block.bare) & kAxisLetters;
  if (block.bare)
    remark(RemarkKind::home_straight, {g_name(code)});
  const Offset through = targets(block);
  moved_ = true;
  if (block.present & kAxisLetters)
    go(MoveKind::rapid, through, 0);
  const int first = code == 280 ? kHome : kSecondHome;
  const bool stored = code == 280 ? home_stored_ : second_home_stored_;
  const bool known = stored || options_.home_mm || (code == 300 && options_.second_home_mm);
  homed_ = homed_ || !known;
  Offset home = at_;
  for (int axis = 0; axis < 3; ++axis)
    if (named == 0 || (named & letter_bit(static_cast<char>('X' + axis)))) {
      home[axis] = parameters_->value[first + axis] + part(machine_zero_, axis);
      placed_ |= known ? 1u << axis : 0u;
    }
  if (!known)
    remark(RemarkKind::home_assumed, {g_name(code)}, options_.start_mm);
  if (named != 0 && named != kAxisLetters)
    remark(RemarkKind::some_axes_home, {g_name(code)});
  go(MoveKind::rapid, home, 0);
}

} // namespace snagmap
