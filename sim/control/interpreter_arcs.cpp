// Arcs: which circle a line of G2 or G3 means, and the moves that follow it through both of its ends.
#include "models/base/constants.hpp"
#include "sim/control/arc.hpp"
#include "sim/control/interpreter.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>

namespace snagmap {
namespace {

constexpr double kFarthest_mm = 1e6;
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

/// An arc's line, in the words of its plane.
struct Interpreter::ArcLine {
  const Block& block;
  ArcPlane plane;
  PlaneAxes axes;
  bool anticlockwise;
  int column; ///< of G2 or G3

  const char* name() const { return anticlockwise ? "G3" : "G2"; }
  char first_end() const { return axis_letter(axes.first); }
  char second_end() const { return axis_letter(axes.second); }
  char first_offset() const { return offset_letter(axes.first); }
  char second_offset() const { return offset_letter(axes.second); }
  /// By its centre; else by R.
  bool has_offsets() const { return block.has(first_offset()) || block.has(second_offset()); }
  bool has_end() const { return block.has(first_end()) || block.has(second_end()); }
  int offset_column() const {
    return block.column_of(block.has(first_offset()) ? first_offset() : second_offset());
  }
  Vec2 in_plane(const Offset& place) const { return {place[axes.first], place[axes.second]}; }
};

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
  const int column = block.has(GroupG::motion) ? block[GroupG::motion].column : 1;
  const ArcLine line{block, plane_, axes_of(plane_), anticlockwise, column};
  pass_over_third_offset(line);
  check_circle(line);
  used_ |= letter_bit(line.first_offset()) | letter_bit(line.second_offset()) | letter_bit('R');
  const int further_turns = turns_of(line) - 1;

  const bool unsure = lost_ & (1u << line.axes.first | 1u << line.axes.second);
  const Offset to = targets(block);
  if (unsure) { // an earlier fault: the start is a guess, so is any complaint
    at_ = to;
    return;
  }
  if (line.has_offsets() && stands_still(line, to)) {
    cut_ = true;
    const int third = line.axes.third;
    return go(MoveKind::line, to, feed_for(block, std::abs(to[third] - at_[third]), column));
  }
  const ArcFit fit = line.has_offsets() ? fit_by_centre(line, to) : fit_by_radius(line, to);
  if (fit.mismatch_mm > 0)
    remember_mismatch(block, fit.mismatch_mm);
  follow(line, to, fit, further_turns);
}

/// The offset along the plane's normal, which some posts write although it means nothing there.
void Interpreter::pass_over_third_offset(const ArcLine& line) {
  const Block& block = line.block;
  if (block.present & kPolar)
    throw Refusal{block.column_of(block.has(Block::kRadius) ? Block::kRadius : Block::kAngle),
                  "polar words on an arc", "write X, Y or Z"};
  const char along = offset_letter(line.axes.third);
  if (!block.has(along))
    return;
  if (block[along] != 0 && options_.dialect != Dialect::grbl)
    throw Refusal{
        block.column_of(along),
        fmt::format("{} on {} arcs is no offset of their plane", along, plane_name(line.plane)),
        fmt::format("{} and {} give the centre; if {} is the pitch of a helix, write the end in {} instead",
                    line.first_offset(), line.second_offset(), along, axis_letter(line.axes.third))};
  used_ |= letter_bit(along);
  remark(block[along] == 0 ? RemarkKind::zero_off_the_plane : RemarkKind::offset_off_the_plane,
         {std::string(1, along), plane_name(line.plane)});
}

/// Whether the words say one circle, by R or by offsets.
void Interpreter::check_circle(const ArcLine& line) {
  const Block& block = line.block;
  const bool offsets = line.has_offsets();
  if (offsets && block.has('R'))
    throw Refusal{block.column_of('R'),
                  fmt::format("{} with R and with offsets: two ways of one circle", line.name()), "keep one"};
  if (!offsets && !block.has('R'))
    throw Refusal{line.column, fmt::format("{} with neither R nor offsets: which circle?", line.name()),
                  fmt::format("write R, or {} and {}", line.first_offset(), line.second_offset())};
  if (!line.has_end() && (!offsets || options_.dialect == Dialect::grbl))
    throw Refusal{line.column,
                  fmt::format("{} with {} and no end in plane {}", line.name(), offsets ? "offsets" : "R",
                              plane_name(line.plane)),
                  fmt::format("write {} or {}", line.first_end(), line.second_end())};
  if (!line.has_end())
    remark(RemarkKind::full_circle,
           {line.name(), std::string(1, line.first_end()), std::string(1, line.second_end())});
  if (offsets && arc_centre_absolute_ && !(block.has(line.first_offset()) && block.has(line.second_offset())))
    throw Refusal{line.column,
                  fmt::format("{} under G90.1 with one offset only: where is the centre?", line.name()),
                  fmt::format("write {} and {}", line.first_offset(), line.second_offset())};
}

/// LinuxCNC, G-code reference, G2 G3: P is the number of turns.
int Interpreter::turns_of(const ArcLine& line) {
  if (!line.block.has('P'))
    return 1;
  used_ |= letter_bit('P');
  const int turns = whole(line.block, 'P', kMostTurns);
  if (turns < 1)
    throw Refusal{line.block.column_of('P'),
                  fmt::format("{} with P0: an arc makes one turn at least", line.name()), "write P1 or more"};
  return turns;
}

Vec2 Interpreter::centre_of(const ArcLine& line) const {
  const auto along = [&](int axis) {
    const char letter = offset_letter(axis);
    const double value = line.block.has(letter) ? line.block[letter] * scale_ : 0;
    return arc_centre_absolute_ ? value + shift_[axis] : at_[axis] + value;
  };
  return {along(line.axes.first), along(line.axes.second)};
}

/// An arc by its centre without a radius: GRBL (motion_control.c, mc_arc) makes no segments of it and ends
/// with a line to the end.
bool Interpreter::stands_still(const ArcLine& line, const Offset& to) {
  const Vec2 centre = centre_of(line);
  if (options_.dialect == Dialect::linuxcnc || norm(centre - line.in_plane(at_)) != 0 ||
      norm(centre - line.in_plane(to)) != 0)
    return false;
  remark(RemarkKind::no_arc, {line.name()});
  return true;
}

ArcFit Interpreter::fit_by_centre(const ArcLine& line, const Offset& to) {
  const Vec2 start = line.in_plane(at_), end = line.in_plane(to), centre = centre_of(line);
  const double radius = norm(centre - start), end_radius = norm(centre - end);
  if (!(radius <= kFarthest_mm))
    throw Refusal{line.offset_column(), "arc with a radius of more than 1 km",
                  "check the offsets and the units"};
  if (radius == 0 || end_radius == 0)
    throw Refusal{line.offset_column(), fmt::format("{} with radius zero", line.name()), "check the offsets"};
  const ArcFit fit = arc_by_centre(start, end, centre, line.anticlockwise);
  const double tolerance = arc_tolerance(radius);
  if (!(fit.mismatch_mm <= tolerance)) {
    at_ = to;
    throw Refusal{
        line.offset_column(),
        fmt::format("{} does not meet its end: radius {:.6f} mm at the start, {:.6f} mm at the end, "
                    "mismatch {:.6f} mm over {:.6f} mm",
                    line.name(), radius, end_radius, fit.mismatch_mm, tolerance),
        "post with more decimals; check whether I J K are meant from the start point (G91.1) or as places "
        "(G90.1)"};
  }
  return fit;
}

ArcFit Interpreter::fit_by_radius(const ArcLine& line, const Offset& to) {
  const Vec2 start = line.in_plane(at_), end = line.in_plane(to);
  const int column = line.block.column_of('R');
  const double radius = line.block['R'] * scale_;
  if (!(std::abs(radius) <= kFarthest_mm))
    throw Refusal{column, "arc with a radius of more than 1 km", "check R and the units"};
  if (start.x == end.x && start.y == end.y)
    throw Refusal{column, fmt::format("{} with R ends where it starts: no one circle fits", line.name()),
                  "write the full circle with offsets"};
  const ArcFit fit = arc_by_radius(start, end, radius, line.anticlockwise);
  const double tolerance =
      std::max(options_.arc_tolerance_mm.value_or(0), scale_ > 1 ? kRadiusFormInch_mm : kRadiusForm_mm);
  if (!(fit.mismatch_mm <= tolerance) || radius == 0) {
    at_ = to;
    throw Refusal{
        column,
        fmt::format("R{:.10g} is too small to reach the end: half the chord is {:.6f} mm, {:.6f} mm more",
                    line.block['R'], 0.5 * norm(end - start), fit.mismatch_mm),
        "check R and the end, or post with more decimals"};
  }
  return fit;
}

/// Cuts the arc in the one or two pieces that pass through both ends.
void Interpreter::follow(const ArcLine& line, const Offset& to, const ArcFit& fit, int further_turns) {
  const Vec3 begin{at_[X], at_[Y], at_[Z]}, end{to[X], to[Y], to[Z]};
  if (!compensation_.on() && norm(tip_ - begin) > 0 && !failed_)
    throw Refusal{line.column,
                  "the move after the end of cutter compensation is an arc: where would it begin?",
                  "leave the contour by a straight move"};
  ArcPiece pieces[2] = {{line.in_plane(to), fit.centre, fit.turn_rad}};
  const int count =
      line.has_offsets() ? through_both_ends(line.in_plane(at_), line.in_plane(to), fit, pieces) : 1;
  std::array<Move, 2> moves;
  double length = 0, turned = 0;
  Vec3 from = begin;
  for (int i = 0; i < count; ++i) {
    Move& move = moves[static_cast<std::size_t>(i)] = make_move(MoveKind::arc);
    turned += pieces[i].turn_rad;
    move.from = from;
    move.to = end;
    if (i + 1 < count) { // the third axis goes with the angle
      move.to = begin + (turned / fit.turn_rad) * (end - begin);
      double* const parts[] = {&move.to.x, &move.to.y, &move.to.z};
      *parts[line.axes.first] = pieces[i].end.x;
      *parts[line.axes.second] = pieces[i].end.y;
    }
    move.centre = pieces[i].centre;
    move.turn_rad = static_cast<float>(pieces[i].turn_rad);
    if (i == 0)
      move.full_turns = static_cast<std::uint8_t>(further_turns);
    from = move.to;
    if (inverse_time_)
      length += length_mm(move);
  }
  const double feed = feed_for(line.block, length, line.column);
  at_ = to;
  for (int i = 0; i < count; ++i) {
    moves[static_cast<std::size_t>(i)].feed_mm_min = static_cast<float>(feed);
    push(moves[static_cast<std::size_t>(i)]);
  }
  cut_ = true;
}

} // namespace snagmap
