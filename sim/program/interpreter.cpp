#include "sim/program/interpreter.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <memory>

namespace snagmap {
namespace {

constexpr std::uint32_t kAxisLetters = letter_bit('X') | letter_bit('Y') | letter_bit('Z');
constexpr std::uint32_t kOtherAxes = letter_bit('A') | letter_bit('B') | letter_bit('C') | letter_bit('U') |
                                     letter_bit('V') | letter_bit('W');
constexpr double kInch = 25.4;
constexpr int kFirstSystem = 5221, kSystemStep = 20, kActiveSystem = 5220, kNumbers = 5211;

bool takes_axes(int one_line_code) {
  return one_line_code == 100 || one_line_code == 280 || one_line_code == 300 || one_line_code == 920;
}
double& part(Vec3& v, int axis) { return axis == 0 ? v.x : axis == 1 ? v.y : v.z; }

/// A whole number from 0, as T, H and P of G10 must be.
int whole(const Block& block, char letter, int most) {
  const double value = block[letter];
  const double nearest = std::round(value);
  if (!(nearest >= 0) || std::abs(value - nearest) > 1e-4 || nearest > most)
    throw Refusal{block.column_of(letter),
                  fmt::format("{}{:g} is not a whole number from 0 to {}", letter, value, most),
                  fmt::format("write {} with a whole number", letter)};
  return static_cast<int>(nearest);
}

} // namespace

void Notes::once(const char* kind, int line, const std::string& text) {
  if (std::find(kinds_.begin(), kinds_.end(), kind) != kinds_.end()) return;
  kinds_.emplace_back(kind);
  texts_.push_back(fmt::format("line {}: {}", line, text));
}
void Notes::add(std::string text) { texts_.push_back(std::move(text)); }

Interpreter::Interpreter(const ProgramOptions& options)
    : options_(options), parameters_(std::make_unique<Parameters>()),
      most_moves_(options.path_limit_bytes / sizeof(Move)) {
  at_.at = {options.start_mm.x, options.start_mm.y, options.start_mm.z};
  machine_zero_ = options.machine_zero_mm.value_or(options.start_mm);
  const Vec3 home = options.home_mm.value_or(options.start_mm) - machine_zero_;
  auto& value = parameters_->value;
  for (const int first : {5161, 5181}) {
    value[first] = home.x;
    value[first + 1] = home.y;
    value[first + 2] = home.z;
  }
  known_systems_ = 1u << 1;
  for (int system = 1; system <= 9; ++system) {
    const auto given = options.work_origin_mm.find(system);
    Vec3 origin;
    if (given != options.work_origin_mm.end()) {
      origin = given->second;
      known_systems_ |= 1u << system;
    }
    origin = origin - machine_zero_;
    const int row = kFirstSystem + kSystemStep * (system - 1);
    for (int axis = 0; axis < 3; ++axis) value[row + axis] = part(origin, axis);
  }
  select_system(1, 1);
}

void Interpreter::update_shift() {
  for (int axis = 0; axis < 3; ++axis) shift_[axis] = origin_[axis] + numbers_[axis];
  if (length_of_ == 0 || length_of_ == mounted_) return;
  const auto in_force = options_.tool_length_mm.find(length_of_), real = options_.tool_length_mm.find(mounted_);
  if (in_force != options_.tool_length_mm.end() && real != options_.tool_length_mm.end())
    shift_[Z] += in_force->second - real->second;
}

void Interpreter::run(const Block& block, int line) {
  line_ = line;
  used_ = letter_bit('F') | letter_bit('S') | letter_bit('T');
  if (block.present & kOtherAxes)
    for (const char letter : {'A', 'B', 'C', 'U', 'V', 'W'})
      if (block.has(letter))
        throw Refusal{block.column_of(letter),
                      fmt::format("{} word: rotary and further linear axes are not read", letter),
                      "post the program for a 3-axis mill (X Y Z)"};
  const bool more_codes = (block.groups & ~(1u << static_cast<int>(GroupG::motion))) != 0;
  if (more_codes || block.m_count > 0 || (block.present & ~(kAxisLetters | letter_bit('F') | letter_bit('I') |
                                                            letter_bit('J') | letter_bit('K'))))
    switches(block);
  else if (block.has('F') && !inverse_time_) {
    if (!(block['F'] >= 0 && block['F'] <= 1e7))
      throw Refusal{block.column_of('F'), fmt::format("F{:g}: a feed is 0 to 10000000", block['F']), "check the feed"};
    feed_mm_min_ = block['F'] * scale_;
    feed_known_ = true;
  }
  if (more_codes) modes(block);
  const int one_line = block.has(GroupG::one_line) ? block[GroupG::one_line].code : -1;
  const bool taken = takes_axes(one_line);
  if (taken && block.has(GroupG::motion) && block[GroupG::motion].code != 800)
    throw Refusal{block[GroupG::one_line].column,
                  fmt::format("{} and {} on one line: both want the axis words",
                              g_name(block[GroupG::motion].code), g_name(one_line)),
                  "write them on two lines"};
  if (one_line >= 0 && one_line != 40 && one_line != 530) one_line_code(block, one_line);
  motion(block, taken);
  refuse_unused(block);
  if (block.m_count > 0) stops(block);
}

void Interpreter::recover(const Block& block) {
  failed_ = true;
  path_.moves.clear();
  path_.moves.shrink_to_fit();
  if (block.has(GroupG::motion)) motion_ = block[GroupG::motion].code;
  // The line may have moved any axis, so no later arc can be checked against this place until it is written anew.
  lost_ = 7;
  for (int i = 0; i < block.m_count; ++i)
    if (block.m[i].code == 2 || block.m[i].code == 30) ended_ = true;
}

/// Feed, speed, tool and the M words that come before motion, in the standard's order.
void Interpreter::switches(const Block& block) {
  if (block.has(GroupG::feed_mode)) {
    const bool inverse = block[GroupG::feed_mode].code == 930;
    if (inverse != inverse_time_) feed_known_ = false;
    inverse_time_ = inverse;
  }
  if (block.has('F')) {
    if (!(block['F'] >= 0 && block['F'] <= 1e7))
      throw Refusal{block.column_of('F'), fmt::format("F{:g}: a feed is 0 to 10000000", block['F']), "check the feed"};
    if (!inverse_time_) {
      feed_mm_min_ = block['F'] * scale_;
      feed_known_ = true;
    }
    if (block.has(GroupG::units) && (block[GroupG::units].code == 200) != (scale_ == kInch))
      notes_.once("F with units", line_, "F stands with a change of units: it is read in the units before, as the order "
                                         "of doing has it");
  }
  if (block.has('S')) {
    if (!(block['S'] >= 0 && block['S'] <= 1e6))
      throw Refusal{block.column_of('S'), fmt::format("S{:g}: a spindle speed is 0 to 1000000 rev/min", block['S']),
                    "check the speed"};
    rpm_ = block['S'];
  }
  if (block.has('T')) pick_tool(block);
  if (block.m_count > 0) spindle_and_change(block);
  if (block.has(GroupG::one_line) && block[GroupG::one_line].code == 40) {
    if (!block.has('P'))
      throw Refusal{block[GroupG::one_line].column, "G4 without P: a dwell needs its seconds", "write G4 P2"};
    used_ |= letter_bit('P');
    const double seconds = block['P'];
    if (!(seconds >= 0 && seconds <= 1e6))
      throw Refusal{block.column_of('P'), fmt::format("P{:g}: a dwell is 0 to 1000000 seconds", seconds),
                    "check the seconds"};
    if (seconds >= 100)
      notes_.once("long dwell", line_, fmt::format("G4 P{:g} is taken as seconds; some controls mean milliseconds", seconds));
    stand(MoveKind::dwell, seconds);
  }
}

void Interpreter::pick_tool(const Block& block) {
  const int tool = whole(block, 'T', 999999);
  if (tool != 0 && !options_.tool_index.empty() && options_.tool_index.count(tool) == 0)
    throw Refusal{block.column_of('T'), fmt::format("T{}: the scene names no cutter for this tool", tool),
                  fmt::format("give tool {} a cutter in the scene", tool)};
  picked_ = tool;
  picked_line_ = line_;
  // Before any move, a tool named is the one in the spindle unless M6 says otherwise.
  if (!changed_ever_ && !moved_) tool_ = static_cast<std::int16_t>(picked_index());
}

int Interpreter::picked_index() const {
  const auto found = options_.tool_index.find(picked_);
  return found == options_.tool_index.end() ? 0 : found->second;
}

void Interpreter::change_tool(int column) {
  if (picked_ < 0) throw Refusal{column, "M6 without a tool: no T word came before it", "write T1 M6"};
  if (options_.tool_index.empty() && changed_ever_ && picked_ != 0 && mounted_ > 0 && picked_ != mounted_)
    throw Refusal{column,
                  fmt::format("second tool: T{} after T{}, and one cutter only is described", picked_, mounted_),
                  "give each tool number its cutter in the scene"};
  changed_ever_ = true;
  empty_spindle_ = picked_ == 0;
  if (picked_ > 0) {
    mounted_ = picked_;
    tool_ = static_cast<std::int16_t>(picked_index());
  }
  spindle_on_ = false;
  stand(MoveKind::tool_change, 0);
  update_shift();
}

void Interpreter::spindle_and_change(const Block& block) {
  for (int i = 0; i < block.m_count; ++i)
    if (block.m[i].code == 6) change_tool(block.m[i].column);
  for (int i = 0; i < block.m_count; ++i) {
    const int code = block.m[i].code;
    if (code == 3 || code == 4) {
      const bool starts = !spindle_on_ && rpm_ > 0;
      spindle_on_ = true;
      if (code == 4)
        notes_.once("M4", line_, "M4 turns the spindle anticlockwise: a right-hand cutter does not cut that way");
      if (rpm_ == 0) notes_.once("M3 without S", line_, "the spindle is started without a speed (S)");
      if (starts) stand(MoveKind::dwell, 0); // the run-up is spent here
    }
    if (code == 5) spindle_on_ = false;
    if (code == 7 || code == 8) notes_.once("coolant", line_, "coolant is switched on; nothing is modelled for it");
    if (code == 48 || code == 49)
      notes_.once("overrides", line_, "feed and speed overrides are a matter of the operator; nothing is modelled");
  }
}

/// Plane to return mode, in the standard's order.
void Interpreter::modes(const Block& block) {
  if (block.has(GroupG::plane)) {
    const int code = block[GroupG::plane].code;
    plane_ = code == 170 ? ArcPlane::xy : code == 180 ? ArcPlane::zx : ArcPlane::yz;
  }
  if (block.has(GroupG::units)) {
    const bool inch = block[GroupG::units].code == 200;
    if (!moved_ && !units_given_) path_.inch = inch;
    else if (inch != path_.inch)
      notes_.once("both units", line_, "the program changes its units; pictures and tables keep the first");
    scale_ = inch ? kInch : 1;
    units_given_ = true;
  }
  if (block.has(GroupG::length)) set_length(block, block[GroupG::length].code);
  if (block.has(GroupG::system)) {
    const int code = block[GroupG::system].code;
    select_system(code >= 591 ? code - 591 + 7 : code / 10 - 53, block[GroupG::system].column);
  }
  if (block.has(GroupG::path)) {
    const int code = block[GroupG::path].code;
    corner_ = code == 610 ? CornerMode::exact_path : code == 611 ? CornerMode::exact_stop : CornerMode::blend;
    blend_um_ = 0;
    if (code == 640 && block.has('P')) {
      used_ |= letter_bit('P');
      const double um = block['P'] * scale_ * 1000;
      if (!(um >= 0 && um <= 65535))
        throw Refusal{block.column_of('P'), fmt::format("P{:g}: a path tolerance is 0 to 65.535 mm", block['P']),
                      "check the tolerance"};
      blend_um_ = static_cast<std::uint16_t>(std::max(1.0, std::round(um)));
      notes_.once("G64 P", line_, "G64 P is no part of the standard: P is read as the path deviation at corners");
    }
  }
  if (block.has(GroupG::distance)) incremental_ = block[GroupG::distance].code == 910;
  if (block.has(GroupG::arc_distance)) {
    arc_centre_absolute_ = block[GroupG::arc_distance].code == 901;
    notes_.once(arc_centre_absolute_ ? "G90.1" : "G91.1", line_,
                arc_centre_absolute_ ? "G90.1 is no part of the standard: I J K are read as places of the centre"
                                     : "G91.1 is no part of the standard: I J K are read from the start point");
  }
  if (block.has(GroupG::cycle_return)) return_to_r_ = block[GroupG::cycle_return].code == 990;
  if (block.has(GroupG::cancelled))
    notes_.once("cancelled", line_,
                fmt::format("{} ends a function that is not read; it changes nothing", g_name(block[GroupG::cancelled].code)));
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
  const int tool = mounted_ >= 0 ? mounted_ : picked_;
  if (mounted_ < 0) mounted_ = picked_;
  if (h != 0 && h != tool) {
    for (const int number : {h, tool})
      if (options_.tool_length_mm.count(number) == 0)
        throw Refusal{block.column_of('H'),
                      number < 0 ? fmt::format("G43 H{} before any T: whose length is corrected?", h)
                                 : fmt::format("G43 H{} with tool {}: the length of tool {} is not given", h, tool, number),
                      tool < 0 ? "name the tool first, or use the H of the tool in the spindle"
                               : "use the H of the tool in the spindle, or give both cutter lengths"};
    notes_.once("H not T", line_, fmt::format("G43 H{} corrects tool {} by the length of another", h, tool));
  }
  length_of_ = h;
  length_ever_ = length_ever_ || h != 0;
  update_shift();
}

void Interpreter::select_system(int system, int column) {
  const unsigned bit = 1u << system;
  if ((known_systems_ & bit) == 0) {
    if (moved_)
      throw Refusal{column,
                    fmt::format("work system {} ({}): its origin is not known", system,
                                system <= 6 ? fmt::format("G{}", 53 + system) : fmt::format("G59.{}", system - 6)),
                    "give its origin in the sheet's coordinates, or use one work system"};
    // The first system used is the sheet's; the others are then unknown.
    known_systems_ = (known_systems_ & ~(1u << system_)) | bit;
    notes_.once("first system", line_, fmt::format("work system {} is the first used: its origin is the sheet's zero", system));
  }
  system_ = system;
  const int row = kFirstSystem + kSystemStep * (system - 1);
  for (int axis = 0; axis < 3; ++axis) origin_[axis] = parameters_->value[row + axis] + part(machine_zero_, axis);
  parameters_->value[kActiveSystem] = system;
  update_shift();
}

void Interpreter::one_line_code(const Block& block, int code) {
  switch (code) {
  case 100: return set_origin(block);
  case 280: case 300: return go_home(block, code);
  case 920: return set_numbers(block);
  case 921: case 922:
    numbers_ = {};
    if (code == 921)
      for (int axis = 0; axis < 3; ++axis) parameters_->value[kNumbers + axis] = 0;
    return update_shift();
  case 923:
    for (int axis = 0; axis < 3; ++axis) numbers_[axis] = parameters_->value[kNumbers + axis];
    return update_shift();
  default: return;
  }
}

/// G10 L2 Pn: origin of a work system in machine coordinates.
void Interpreter::set_origin(const Block& block) {
  const int column = block[GroupG::one_line].column;
  used_ |= letter_bit('L') | letter_bit('P') | (block.present & kAxisLetters);
  if (!block.has('L') || block['L'] != 2)
    throw Refusal{column, "G10 without L2: only the setting of work origins is in the standard", "write G10 L2 P1 X.. Y.. Z.."};
  const int system = block.has('P') ? whole(block, 'P', 9) : 0;
  if (system == 0) throw Refusal{column, "G10 L2 without P from 1 to 9: which work system?", "write G10 L2 P1 for G54"};
  if (!options_.machine_zero_mm)
    throw Refusal{column, "G10 sets an origin in machine coordinates, and the place of the machine's zero is not given",
                  "give the machine's zero in the sheet's coordinates, or set the origin at the machine and drop G10"};
  const int row = kFirstSystem + kSystemStep * (system - 1);
  for (int axis = 0; axis < 3; ++axis)
    if (block.has(static_cast<char>('X' + axis)))
      parameters_->value[row + axis] = block[static_cast<char>('X' + axis)] * scale_;
  known_systems_ |= 1u << system;
  notes_.once("G10", line_, fmt::format("G10 moves the origin of work system {}; the sheet stays where it is", system));
  if (system == system_) select_system(system, column);
}

/// G92: the present place is called by these numbers, in every work system.
void Interpreter::set_numbers(const Block& block) {
  if ((block.present & kAxisLetters) == 0)
    throw Refusal{block[GroupG::one_line].column, "G92 without axis words: which numbers?", "write G92 X0 Y0, or G92.1 to clear"};
  used_ |= block.present & kAxisLetters;
  for (int axis = 0; axis < 3; ++axis) {
    const char letter = static_cast<char>('X' + axis);
    if (!block.has(letter)) continue;
    const double without = shift_[axis] - numbers_[axis];
    numbers_[axis] = at_[axis] - block[letter] * scale_ - without;
    parameters_->value[kNumbers + axis] = numbers_[axis];
  }
  notes_.once("G92", line_, fmt::format("G92 names the present place, which is X{:g} Y{:g} Z{:g} mm from the sheet's zero",
                                        at_[X], at_[Y], at_[Z]));
  update_shift();
}

/// G28 and G30: a rapid through the given point, then the named axes (all when none is named) go home.
void Interpreter::go_home(const Block& block, int code) {
  const unsigned named = block.present & kAxisLetters;
  const Offset through = targets(block);
  moved_ = true;
  if (named) go(MoveKind::rapid, through, 0);
  const int first = code == 280 ? 5161 : 5181;
  Offset home = at_;
  for (int axis = 0; axis < 3; ++axis)
    if (named == 0 || block.has(static_cast<char>('X' + axis)))
      home[axis] = parameters_->value[first + axis] + part(machine_zero_, axis);
  if (!options_.home_mm)
    notes_.once("home", line_, fmt::format("{}: home is not given and is taken as the start place X{:g} Y{:g} Z{:g} mm",
                                           g_name(code), options_.start_mm.x, options_.start_mm.y, options_.start_mm.z));
  if (named != 0 && named != kAxisLetters)
    notes_.once("home axes", line_, fmt::format("{}: only the axes named go home", g_name(code)));
  go(MoveKind::rapid, home, 0);
}

/// A word that nothing used is no comment: it may be half of a move.
void Interpreter::refuse_unused(const Block& block) const {
  const std::uint32_t left = block.present & ~used_;
  if (left == 0) return;
  int first = 0;
  char letter = 'A';
  for (char c = 'A'; c <= 'Z'; ++c)
    if ((left & letter_bit(c)) && (first == 0 || block.column_of(c) < first)) {
      first = block.column_of(c);
      letter = c;
    }
  throw Refusal{first, fmt::format("{} word with nothing on its line to use it", letter),
                fmt::format("remove it, or write the code it belongs to on the same line")};
}

void Interpreter::stops(const Block& block) {
  for (int i = 0; i < block.m_count; ++i) {
    const int code = block.m[i].code;
    if (code == 0 || code == 1 || code == 60) stand(MoveKind::stop, 0);
    if (code == 2 || code == 30) ended_ = true;
  }
}

Path Interpreter::finish() {
  const Vec3 s = options_.start_mm;
  notes_.add(fmt::format("the tip is taken to start at X{:g} Y{:g} Z{:g} mm", s.x, s.y, s.z));
  if (!units_given_) notes_.add("the program names no units (G20, G21): millimetres are assumed");
  if (!changed_ever_)
    notes_.add(picked_ < 0 ? "the program names no tool: the first cutter is assumed"
                           : fmt::format("line {}: T{} is picked, but no M6 changes to it: the cutter does not change "
                                         "during the program",
                                         picked_line_, picked_));
  if (worst_mismatch_mm_ > 0)
    notes_.add(fmt::format("line {}: worst arc, its radii at start and end differ by {:.6f} mm", worst_mismatch_line_,
                           worst_mismatch_mm_));
  path_.notes = notes_.take();
  return std::move(path_);
}

} // namespace snagmap
