#include "models/base/constants.hpp"
#include "sim/program/arc.hpp"
#include "sim/program/interpreter.hpp"

#include <fmt/format.h>

#include <cmath>

namespace snagmap {
namespace {

constexpr double kFarthest_mm = 1e6, kDegree = 0.017453292519943295769;
constexpr std::uint32_t kPolar = letter_bit(Block::kRadius) | letter_bit(Block::kAngle);
// How far an arc's radii at its two ends may differ. LinuxCNC (interp_internal.hh; measured with rs274 2.9):
// the greater of 0.01 mm or 0.001 inch times 2 sqrt 2, and a thousandth of the radius, up to a hundred times
// the first. GRBL (gcode.c, step 3, motion modes): 0.005 mm, or a thousandth of the radius up to 0.5 mm.
constexpr double kLinuxcnc_mm = 0.0282842712, kLinuxcncInch_mm = 0.00282842712 * kInch_mm, kGrbl_mm = 0.005,
                 kGrblMost_mm = 0.5, kOfRadius = 0.001;
// Half a chord over R: NIST RS274/NGC version 3, from memory. LinuxCNC 0.00127 mm, GRBL none.
constexpr double kRadiusForm_mm = 0.002, kRadiusFormInch_mm = 0.0002 * kInch_mm;
constexpr int kMostTurns = 200;

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
  move.tool_number = tool_number_;
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
  if (motion_ >= 0 && motion_ <= 30)
    plain_motion_ = motion_;
  if (block.has(GroupG::one_line) && block[GroupG::one_line].code == 530)
    return in_machine_coordinates(block);
  const bool offsets = block.present & (letter_bit('I') | letter_bit('J') | letter_bit('K'));
  const bool round = motion_ == 20 || motion_ == 30;
  if (axes == 0 && !(round && offsets && !axes_taken)) {
    if (written && motion_ != 800 && !axes_taken) {
      if (motion_ > 10)
        throw Refusal{column, fmt::format("{} without axis words: where to?", g_name(motion_)),
                      "write X, Y or Z"};
      // LinuxCNC takes it for a move to where the tip stands, GRBL (gcode.c, step 3) sets the mode only.
      notes_.once("motion without axes", line_,
                  fmt::format("{} without axis words sets the motion and moves nothing", g_name(motion_)));
    }
    return;
  }
  if (motion_ < 0 || motion_ == 800)
    motion_ = motion_unsaid(block);
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

/// The motion of axis words that no motion code rules, where a control knows one.
int Interpreter::motion_unsaid(const Block& block) {
  char letter = 'X';
  while (letter <= Block::kAngle && !block.has(letter))
    ++letter;
  if (motion_ == 800) {
    if (options_.dialect != Dialect::either || plain_motion_ < 0 || plain_motion_ > 10)
      throw Refusal{block.column_of(letter), "axis words under G80, which ends motion",
                    "write G0 or G1 before them"};
    notes_.once(
        "axes after G80", line_,
        fmt::format("axis words after G80 move by {}, the motion before the cycle, as some controls do; "
                    "LinuxCNC and GRBL refuse them",
                    g_name(plain_motion_)));
    return plain_motion_;
  }
  if (options_.dialect == Dialect::linuxcnc)
    throw Refusal{block.column_of(letter), "axis words before any motion code", "write G0, G1, G2 or G3"};
  notes_.once(
      "motion at the start", line_,
      "axis words before any motion code move by G0, the state in which GRBL begins; LinuxCNC refuses them");
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

/// A word of exactly 0 that some posts write although it means nothing here.
void Interpreter::accept_zero(char letter, const char* kind, const std::string& what) {
  used_ |= letter_bit(letter);
  notes_.once(kind, line_, what);
}

double Interpreter::arc_tolerance(double radius_mm) const {
  if (options_.arc_tolerance_mm)
    return scale_ > 1 ? std::max(*options_.arc_tolerance_mm, kRadiusFormInch_mm) : *options_.arc_tolerance_mm;
  const double of_radius = kOfRadius * radius_mm;
  const double grbl = std::max(kGrbl_mm, std::min(of_radius, kGrblMost_mm));
  if (options_.dialect == Dialect::grbl)
    return grbl;
  const double own = scale_ > 1 ? kLinuxcncInch_mm : kLinuxcnc_mm;
  const double linuxcnc = std::max(own, std::min(of_radius, 100 * own));
  return options_.dialect == Dialect::linuxcnc ? linuxcnc : std::max(grbl, linuxcnc);
}

void Interpreter::remember_mismatch(const Block& block, double mismatch_mm) {
  if (mismatch_mm > worst_mismatch_mm_) {
    worst_mismatch_mm_ = mismatch_mm;
    worst_mismatch_line_ = line_;
  }
  if (mismatch_mm <= kRadiusForm_mm)
    return;
  ++mismatched_arcs_;
  for (const char letter : {'X', 'Y', 'Z', 'I', 'J', 'K', 'R'})
    for (int k = decimals_; block.has(letter) && k < 6; ++k) {
      const double shifted = block[letter] * std::pow(10.0, k);
      if (std::abs(shifted - std::round(shifted)) < 1e-5)
        break;
      decimals_ = k + 1;
    }
}

void Interpreter::arc(const Block& block, bool anticlockwise) {
  const auto [first, second, third] = axes_of(plane_);
  const int column = block.has(GroupG::motion) ? block[GroupG::motion].column : 1;
  const char* name = anticlockwise ? "G3" : "G2";
  const char along = offset_letter(third);
  if (block.present & kPolar)
    throw Refusal{block.column_of(block.has(Block::kRadius) ? Block::kRadius : Block::kAngle),
                  "polar words on an arc", "write X, Y or Z"};
  if (block.has(along)) {
    if (block[along] != 0 && options_.dialect != Dialect::grbl)
      throw Refusal{
          block.column_of(along),
          fmt::format("{} on {} arcs is no offset of their plane", along, plane_name(plane_)),
          fmt::format("{} and {} give the centre; if {} is the pitch of a helix, write the end in {} instead",
                      offset_letter(first), offset_letter(second), along, axis_letter(third))};
    accept_zero(along, "offset off the plane",
                block[along] == 0
                    ? fmt::format("{} of 0 on an arc in plane {} is passed over", along, plane_name(plane_))
                    : fmt::format("{} on an arc in plane {} is passed over, as GRBL does", along,
                                  plane_name(plane_)));
  }
  const bool offsets = block.has(offset_letter(first)) || block.has(offset_letter(second));
  const bool ends = block.has(axis_letter(first)) || block.has(axis_letter(second));
  if (offsets && block.has('R'))
    throw Refusal{block.column_of('R'),
                  fmt::format("{} with R and with offsets: two ways of one circle", name), "keep one"};
  if (!offsets && !block.has('R'))
    throw Refusal{column, fmt::format("{} with neither R nor offsets: which circle?", name),
                  fmt::format("write R, or {} and {}", offset_letter(first), offset_letter(second))};
  if (!ends && (!offsets || options_.dialect == Dialect::grbl))
    throw Refusal{
        column,
        fmt::format("{} with {} and no end in plane {}", name, offsets ? "offsets" : "R", plane_name(plane_)),
        fmt::format("write {} or {}", axis_letter(first), axis_letter(second))};
  if (!ends)
    notes_.once("full circle", line_,
                fmt::format("{} without {} and {}: read as a full circle, as LinuxCNC does; GRBL refuses it",
                            name, axis_letter(first), axis_letter(second)));
  if (offsets && arc_centre_absolute_ &&
      !(block.has(offset_letter(first)) && block.has(offset_letter(second))))
    throw Refusal{column, fmt::format("{} under G90.1 with one offset only: where is the centre?", name),
                  fmt::format("write {} and {}", offset_letter(first), offset_letter(second))};
  used_ |= letter_bit(offset_letter(first)) | letter_bit(offset_letter(second)) | letter_bit('R');
  int further_turns = 0;
  if (block.has('P')) { // LinuxCNC, G-code reference, G2 G3: turns
    used_ |= letter_bit('P');
    const int turns = whole(block, 'P', kMostTurns);
    if (turns < 1)
      throw Refusal{block.column_of('P'), fmt::format("{} with P0: an arc makes one turn at least", name),
                    "write P1 or more"};
    further_turns = turns - 1;
  }

  const bool unsure = lost_ & (1u << first | 1u << second);
  const Offset to = targets(block);
  const Vec2 start{at_[first], at_[second]}, end{to[first], to[second]};
  if (unsure) { // an earlier fault: the start is a guess, so is any complaint
    at_ = to;
    return;
  }
  ArcFit fit;
  if (offsets) {
    const auto centre_of = [&](int axis) {
      const char letter = offset_letter(axis);
      const double value = block.has(letter) ? block[letter] * scale_ : 0;
      return arc_centre_absolute_ ? value + shift_[axis] : at_[axis] + value;
    };
    const Vec2 centre{centre_of(first), centre_of(second)};
    const int at =
        block.column_of(block.has(offset_letter(first)) ? offset_letter(first) : offset_letter(second));
    const double radius = norm(centre - start);
    if (!(radius <= kFarthest_mm))
      throw Refusal{at, "arc with a radius of more than 1 km", "check the offsets and the units"};
    fit = arc_by_centre(start, end, centre, anticlockwise);
    if (radius == 0 && norm(centre - end) == 0 && options_.dialect != Dialect::linuxcnc) {
      notes_.once(
          "no arc", line_,
          fmt::format("{} with radius zero moves nothing in its plane, as GRBL has it; LinuxCNC refuses it",
                      name)); // GRBL, motion_control.c, mc_arc: no segments, then a line to the end
      cut_ = true;
      return go(MoveKind::line, to, feed_for(block, std::abs(to[third] - at_[third]), column));
    }
    if (radius == 0 || norm(centre - end) == 0)
      throw Refusal{at, fmt::format("{} with radius zero", name), "check the offsets"};
    const double tolerance = arc_tolerance(radius);
    if (!(fit.mismatch_mm <= tolerance)) {
      at_ = to;
      throw Refusal{
          at,
          fmt::format("{} does not meet its end: radius {:.6f} mm at the start, {:.6f} mm at the end, "
                      "mismatch {:.6f} mm over {:.6f} mm",
                      name, radius, norm(centre - end), fit.mismatch_mm, tolerance),
          "post with more decimals; check whether I J K are meant from the start point (G91.1) or as places "
          "(G90.1)"};
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
    const double tolerance =
        std::max(options_.arc_tolerance_mm.value_or(0), scale_ > 1 ? kRadiusFormInch_mm : kRadiusForm_mm);
    if (!(fit.mismatch_mm <= tolerance) || radius == 0) {
      at_ = to;
      throw Refusal{
          block.column_of('R'),
          fmt::format("R{:.10g} is too small to reach the end: half the chord is {:.6f} mm, {:.6f} mm more",
                      block['R'], 0.5 * norm(end - start), fit.mismatch_mm),
          "check R and the end, or post with more decimals"};
    }
  }
  if (fit.mismatch_mm > 0)
    remember_mismatch(block, fit.mismatch_mm);
  ArcPiece pieces[2];
  const int count = offsets ? through_both_ends(start, end, fit, pieces) : 1;
  if (!offsets)
    pieces[0] = {end, fit.centre, fit.turn_rad};
  Move moves[2];
  double length = 0, turned = 0;
  if (!compensation_.on() && norm(tip_ - Vec3{at_[X], at_[Y], at_[Z]}) > 0 && !failed_)
    throw Refusal{column, "the move after the end of cutter compensation is an arc: where would it begin?",
                  "leave the contour by a straight move"};
  Vec3 from{at_[X], at_[Y], at_[Z]};
  const Vec3 whole_way = Vec3{to[X], to[Y], to[Z]} - from;
  for (int i = 0; i < count; ++i) {
    Move& move = moves[i] = make_move(MoveKind::arc);
    turned += pieces[i].turn_rad;
    move.from = from;
    move.to = {to[X], to[Y], to[Z]};
    if (i + 1 < count) { // the third axis goes with the angle
      move.to = Vec3{at_[X], at_[Y], at_[Z]} + (turned / fit.turn_rad) * whole_way;
      double* const parts[] = {&move.to.x, &move.to.y, &move.to.z};
      *parts[first] = pieces[i].end.x;
      *parts[second] = pieces[i].end.y;
    }
    move.centre = pieces[i].centre;
    move.turn_rad = static_cast<float>(pieces[i].turn_rad);
    if (i == 0)
      move.full_turns = static_cast<std::uint8_t>(further_turns);
    from = move.to;
    if (inverse_time_)
      length += length_mm(move);
  }
  const double feed = feed_for(block, length, column);
  at_ = to;
  for (int i = 0; i < count; ++i) {
    moves[i].feed_mm_min = static_cast<float>(feed);
    push(moves[i]);
  }
  cut_ = true;
}

/// G53: this line in machine coordinates, whatever offsets and distance mode are in force.
void Interpreter::in_machine_coordinates(const Block& block) {
  const int column = block[GroupG::one_line].column;
  if (motion_ != 0 && motion_ != 10)
    throw Refusal{column, "G53 without G0 or G1", "write G53 G0 and the axis words"};
  if ((block.present & kAxisLetters) == 0)
    throw Refusal{column, "G53 without axis words: where to?", "write X, Y or Z"};
  if (!options_.machine_zero_mm && !machine_zero_told_)
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
