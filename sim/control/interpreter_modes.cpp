// What a line switches before anything moves: feed, speed, tool, coolant, dwell, and the modes.
#include "models/base/constants.hpp"
#include "sim/control/interpreter.hpp"
#include "sim/language/scanner.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace snagmap {
namespace {

constexpr double kGreatestFeed = 1e7;

} // namespace

void Interpreter::take_feed(const Block& block) {
  const double feed = block['F'];
  if (!(feed >= 0 && feed <= kGreatestFeed))
    throw Refusal{block.column_of('F'), fmt::format("F{:.10g}: a feed is 0 to {:.0f}", feed, kGreatestFeed),
                  "check the feed"};
  if (inverse_time_)
    return; // belongs to this line's move alone
  feed_mm_min_ = feed * scale_;
  feed_known_ = true;
}

/// G4 X, as some controls write a dwell (common practice, no source).
bool Interpreter::dwells_by_x(const Block& block) const {
  return options_.dialect == Dialect::either && !block.has('P') && block.has('X') && !block.has('Y') &&
         !block.has('Z') && !block.has(GroupG::motion);
}

/// Feed, speed, tool and the M words that come before motion, in the standard's order.
void Interpreter::switches(const Block& block) {
  if (block.has(GroupG::feed_mode)) {
    const int code = block[GroupG::feed_mode].code;
    if ((code == 930) != inverse_time_ || (code == 950) != feed_per_turn_)
      feed_known_ = false;
    inverse_time_ = code == 930;
    feed_per_turn_ = code == 950;
  }
  if (block.has('F')) {
    take_feed(block);
    if (block.has(GroupG::units) && (block[GroupG::units].code == 200) != (scale_ == kInch_mm))
      remark(RemarkKind::feed_with_units);
  }
  bool turned = spindle_on_ && rpm_ > 0;
  const bool backward = anticlockwise_;
  if (block.has('S')) {
    if (!(block['S'] >= 0 && block['S'] <= 1e6))
      throw Refusal{block.column_of('S'),
                    fmt::format("S{:.10g}: a spindle speed is 0 to 1000000 rev/min", block['S']),
                    "check the speed"};
    rpm_ = block['S'];
  }
  if (block.has('T'))
    pick_tool(block);
  for (int i = 0; i < block.m_count; ++i)
    if (block.m[i].code == 6) {
      change_tool(block.m[i].column);
      turned = false;
    }
  if (block.m_count > 0)
    spindle_and_coolant(block);
  if ((!turned || anticlockwise_ != backward) && spindle_on_ && rpm_ > 0)
    stand(MoveKind::dwell, 0); // the run-up is spent here
  if (block.has(GroupG::one_line) && block[GroupG::one_line].code == 40) {
    const char letter = dwells_by_x(block) ? 'X' : 'P';
    if (!block.has(letter))
      throw Refusal{block[GroupG::one_line].column, "G4 without P: a dwell needs its seconds", "write G4 P2"};
    if (letter == 'X')
      remark(RemarkKind::dwell_by_x);
    used_ |= letter_bit(letter);
    const double seconds = block[letter];
    if (!(seconds >= 0 && seconds <= 1e6))
      throw Refusal{block.column_of(letter),
                    fmt::format("{}{:.10g}: a dwell is 0 to 1000000 seconds", letter, seconds),
                    "check the seconds"};
    if (seconds >= 100)
      remark(RemarkKind::long_dwell, {fmt::format("{}{:.10g}", letter, seconds)});
    stand(MoveKind::dwell, seconds);
  }
}

void Interpreter::pick_tool(const Block& block) {
  const int tool = whole(block, 'T', options_.any_tool ? 32767 : 999999);
  if (tool != 0 && !options_.tool_index.empty() && options_.tool_index.count(tool) == 0)
    throw Refusal{block.column_of('T'), fmt::format("T{}: the scene names no cutter for this tool", tool),
                  fmt::format("give tool {} a cutter in the scene ([[tool]])", tool)};
  picked_ = tool;
  picked_line_ = line_;
  // Before any move, a tool named is the one in the spindle unless M6 says otherwise.
  if (!changed_ever_ && !moved_) {
    tool_ = static_cast<std::int16_t>(picked_index());
    tool_number_ = tool;
  }
}

int Interpreter::picked_index() const {
  if (options_.any_tool)
    return picked_.value_or(0);
  if (!picked_)
    return 0;
  const auto found = options_.tool_index.find(*picked_);
  return found == options_.tool_index.end() ? 0 : found->second;
}

void Interpreter::change_tool(int column) {
  const bool one_cutter = options_.tool_index.size() <= 1;
  if (!picked_) {
    if (!one_cutter)
      throw Refusal{column, "M6 without a tool: no T word came before it", "write T1 M6"};
    remark(RemarkKind::change_without_tool);
  }
  if (options_.tool_index.empty() && !options_.any_tool && changed_ever_ && picked_ > 0 && mounted_ > 0 &&
      picked_ != mounted_)
    remark(RemarkKind::second_tool, {fmt::format("T{}", *picked_), fmt::format("T{}", *mounted_)});
  changed_ever_ = true;
  empty_spindle_ = picked_ == 0;
  if (empty_spindle_ && one_cutter) {
    empty_spindle_ = false;
    remark(RemarkKind::empty_spindle);
  }
  if (picked_ > 0) {
    mounted_ = picked_;
    tool_ = static_cast<std::int16_t>(picked_index());
  }
  spindle_on_ = false;
  tool_number_ = picked_;
  stand(MoveKind::tool_change, 0);
  update_shift();
}

void Interpreter::spindle_and_coolant(const Block& block) {
  for (int i = 0; i < block.m_count; ++i) {
    int code = block.m[i].code;
    if (code == 13 || code == 14) { // common practice, no source
      if (options_.dialect != Dialect::either)
        throw Refusal{block.m[i].column, fmt::format("M{} is unknown to this control", code),
                      "write M3 or M4, and M8"};
      remark(RemarkKind::spindle_and_coolant, {fmt::format("M{}", code)});
      coolant_ |= kFlood;
      code -= 10;
    }
    if (code == 3 || code == 4) {
      spindle_on_ = true;
      anticlockwise_ = code == 4;
      if (code == 4)
        remark(RemarkKind::anticlockwise);
      if (rpm_ == 0)
        remark(RemarkKind::no_speed);
    }
    if (code == 5)
      spindle_on_ = false;
    if (code >= 70 && code <= 73)
      save_or_restore(code, block.m[i].column);
    if (code == 7 || code == 8)
      coolant_ |= code == 7 ? kMist : kFlood;
    if (code == 9)
      coolant_ = 0;
    if (code == 7 || code == 8)
      remark(RemarkKind::coolant);
    if (code == 19) {
      spindle_on_ = false;
      used_ |= letter_bit('R') | letter_bit('Q') | letter_bit('P');
      remark(RemarkKind::spindle_held);
      restore(RemarkKind::code_not_written, {"M19"});
    } else if (group_of_m(code) == GroupM::user) {
      used_ |= letter_bit('P') | letter_bit('Q') | letter_bit('E');
      remark(code >= 100 ? RemarkKind::owners_code : RemarkKind::output_code, {fmt::format("M{}", code)});
      restore(RemarkKind::code_not_written, {fmt::format("M{}", code)});
    }
    if (code >= 48 && code <= 53) {
      used_ |= code >= 50 ? letter_bit('P') : 0;
      remark(RemarkKind::overrides);
      restore(RemarkKind::code_not_written, {fmt::format("M{}", code)});
    }
  }
}

/// G70 and G71 alone are inch and millimetres on some controls (common practice, no source); with words they
/// are a lathe's cycles.
void Interpreter::foreign_units(const Block& block, bool inch) {
  const char* name = inch ? "G70" : "G71";
  constexpr std::uint32_t kOfCycle = letter_bit('P') | letter_bit('Q') | letter_bit('R') | letter_bit('D') |
                                     letter_bit('I') | letter_bit('J') | letter_bit('U') | letter_bit('W');
  if (options_.dialect != Dialect::either || (block.present & kOfCycle) || block.has(GroupG::motion))
    throw Refusal{block.foreign_units,
                  fmt::format("{}: a lathe's {} cycle, or {} on some controls", name,
                              inch ? "finishing" : "turning", inch ? "inch" : "millimetres"),
                  "post the program for a mill, with G20 or G21"};
  remark(RemarkKind::foreign_units, {name, inch ? "G20" : "G21", inch ? "inch" : "millimetres"});
}

/// Plane to return mode, in the standard's order.
void Interpreter::modes(const Block& block) {
  if (block.has(GroupG::plane)) {
    const int code = block[GroupG::plane].code;
    plane_ = code == 170 ? ArcPlane::xy : code == 180 ? ArcPlane::zx : ArcPlane::yz;
  }
  if (block.has(GroupG::units)) {
    const bool inch = block[GroupG::units].code == 200;
    if (block.foreign_units)
      foreign_units(block, inch);
    if (!moved_ && !units_given_)
      path_.inch = inch;
    else if (inch != path_.inch)
      remark(RemarkKind::units_change);
    scale_ = inch ? kInch_mm : 1;
    units_given_ = true;
  }
  if (block.has(GroupG::compensation))
    compensate(block);
  if (block.has(GroupG::length))
    set_length(block, block[GroupG::length].code);
  if (block.has(GroupG::system)) {
    const int code = block[GroupG::system].code;
    const int before = system_;
    select_system(code >= 591 ? code - 591 + 7 : code / 10 - 53, block[GroupG::system].column);
    system_named_ = true;
    if (moved_ && system_ != before)
      restore(RemarkKind::system_changed, {g_name(code)});
  }
  if (block.has(GroupG::path)) {
    const int code = block[GroupG::path].code;
    corner_ = code == 610 ? CornerMode::exact_path : code == 611 ? CornerMode::exact_stop : CornerMode::blend;
    blend_um_ = 0;
    path_.words.path_mode = path_.words.path_mode || !moved_;
    if (code == 640 && block.has('Q')) {
      used_ |= letter_bit('Q');
      remark(RemarkKind::joined_moves);
    }
    if (code == 640 && block.has('P')) {
      used_ |= letter_bit('P');
      const double um = block['P'] * scale_ * 1000;
      if (!(um >= 0 && um <= 65535))
        throw Refusal{block.column_of('P'),
                      fmt::format("P{:.10g}: a path tolerance is 0 to 65.535 mm", block['P']),
                      "check the tolerance"};
      blend_um_ = static_cast<std::uint16_t>(std::max(1.0, std::round(um)));
      remark(RemarkKind::path_deviation);
    }
  }
  if (block.has(GroupG::distance))
    incremental_ = block[GroupG::distance].code == 910;
  if (block.has(GroupG::arc_distance)) {
    arc_centre_absolute_ = block[GroupG::arc_distance].code == 901;
    path_.words.arc_centres = true;
    remark(arc_centre_absolute_ ? RemarkKind::centres_absolute : RemarkKind::centres_from_start);
  }
  if (block.has(GroupG::cycle_return)) {
    return_to_r_ = block[GroupG::cycle_return].code == 990;
    return_told_ = true;
  }
  if (block.has(GroupG::cancelled))
    remark(RemarkKind::ended_function, {g_name(block[GroupG::cancelled].code)});
}

} // namespace snagmap
